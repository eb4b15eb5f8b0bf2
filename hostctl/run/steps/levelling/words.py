"""What is said to whoever levels a bed: which screw, how far, which way, and what to watch."""

from hostctl.config.grid import level_of
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.deeds import Direction, PressPlunger, TurnScrew, ZeroIndicator, turn_in_words
from hostctl.records import Place
from hostctl.run.procedures.levelling.reach import reach_of
from hostctl.run.wording import Words, hands_out

OTHER_WAY: dict[Direction, Direction] = {
    "clockwise": "anticlockwise",
    "anticlockwise": "clockwise",
}
WHOLE_TURN_DEG = 360


def comes(study: Study, machine: Machine) -> str:
    """What comes of a levelling, before the first motion; empty for every other study."""
    if level_of(study) is None:
        return ""
    reach = reach_of(study, machine)
    if reach.lowest_mm is None:
        return (
            "The bed must be lower than the nozzle wherever the machine homes. Between rounds "
            "screws are turned with the head up; then all axes home anew."
        )
    return (
        f"Heights are read with the nozzle at z {reach.turning_z_mm:g} mm: the bed must be lower "
        f"than {reach.highest_mm:g} mm everywhere, and lower than the nozzle where the machine "
        "homes. Between rounds screws are turned; then all axes home anew."
    )


def turn(deed: TurnScrew, study: Study, machine: Machine) -> Words:
    """Turn one screw as advised."""
    screw = next(each for each in machine.screws if each.name == deed.screw)
    assert deed.direction is not None  # the rules let none else through
    raises = deed.direction == screw.raises_bed
    moves_mm = deed.turn_deg * screw.pitch_mm / WHOLE_TURN_DEG
    does = f"It {'raises' if raises else 'lowers'} the bed there by {moves_mm:.2f} mm"
    stop = _stop(reach_of(study, machine).lowest_mm)
    return Words(
        deed=deed,
        text=f"Turn the {deed.screw} screw {turn_in_words(deed.turn_deg)}, {seen(deed)}.",
        detail=(f"{does}{_shows(deed, len(machine.screws))}. {stop}{hands_out(study.warmth)}"),
        moves_next="The head lifts, then goes to the next screw, or all axes home.",
    )


def seen(deed: TurnScrew) -> str:
    """`clockwise, seen from above`; from below the same turn goes the other way round."""
    assert deed.direction is not None
    direction = deed.direction if deed.seen_from == "above" else OTHER_WAY[deed.direction]
    return f"{direction}, seen from {deed.seen_from}"


def _shows(deed: TurnScrew, screws: int) -> str:
    if deed.target_mm is None:
        return ""
    about = "" if screws == 3 else "about "
    return f"; the indicator over it then shows {about}{deed.target_mm:.2f} mm"


def _stop(lowest_mm: float | None) -> str:
    """When to stop turning."""
    near = "the plunger nears its stop or the bed the nozzle" if lowest_mm is not None else ""
    where = f", or where {near}" if near else ""
    return (
        "Turn slowly; stop where the screw goes hard or comes loose: that is the end of its travel"
        f"{where}. If it went the wrong way, turn it back. "
    )


def press_plunger(point: str) -> Words:
    """Which way the number goes is measured, not taken for granted; the plunger hangs free."""
    return Words(
        deed=PressPlunger(),
        text="Press the plunger's tip up a little with a finger: does the number grow or fall?",
        detail=f"It hangs free over {point}. Then take your hand out.",
        moves_next="The head may move a little way over the same place.",
    )


def free_plunger(place: Place, again: str = "") -> Words:
    """What the indicator shows where its plunger touches nothing."""
    return Words(
        deed=ZeroIndicator(),
        text=again or "Turn the indicator to zero and confirm, or type what it shows.",
        detail=(
            f"Its plunger hangs free over {place.point}: see that it touches nothing. Heights of "
            "this round count from here; leave the bezel alone from then on."
        ),
        moves_next="The head lowers the plunger onto the bed, slowly.",
    )
