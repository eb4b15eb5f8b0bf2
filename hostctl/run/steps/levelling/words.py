"""What is said to whoever levels a bed: which screw, how far, which way, and what to watch."""

from dataclasses import replace

from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.deeds import Direction, PressPlunger, TurnScrew, ZeroIndicator
from hostctl.records import Place
from hostctl.run import wording
from hostctl.run.procedures.levelling.reach import reach_of
from hostctl.run.wording import Words
from hostctl.turns import turn_in_words

OTHER_WAY: dict[Direction, Direction] = {
    "clockwise": "anticlockwise",
    "anticlockwise": "clockwise",
}
WHOLE_TURN_DEG = 360


def start(study: Study, machine: Machine) -> Words:
    """Before the first motion of a levelling: where the bed must be comes before all else."""
    reach = reach_of(study, machine)
    lower, read = "lower than the nozzle where the machine homes", "touched"
    if reach.lowest_mm is not None:
        lower = f"lower than {reach.highest_mm:g} mm everywhere, and {lower}"
        read = f"read with the nozzle at z {reach.turning_z_mm:g} mm"
    parks = ", and parks at the end" if machine.park else ""
    return replace(
        wording.start(study, machine),
        detail=(
            f"The bed must be {lower}. See that nothing is above the head or in its way: it rises "
            f"{machine.clear_z_mm:g} mm, or as far as it can, homes, and goes over all points, "
            f"where the bed is {read}{parks}. Between rounds screws are turned; then all axes home "
            "anew. It moves only after an answer, and a countdown. "
            f"{wording.at_the_switch(machine)} Nozzle cold, bed {wording.bed_of(study)}. "
            f"{wording.MAKER_FIRST}"
        ),
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
        detail=f"{does}{_shows(deed, len(machine.screws))}. {stop}",
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
        f"{where}. If it went the wrong way, turn it back."
    )


def press_plunger(point: str) -> Words:
    """Which way the number goes is measured, not taken for granted; the plunger hangs free."""
    return Words(
        deed=PressPlunger(),
        text="Press the plunger's tip up a little with a finger: does the number grow or fall?",
        detail=f"It hangs free over {point}.",
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
