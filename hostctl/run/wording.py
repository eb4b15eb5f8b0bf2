"""What the operator is told: calm plain sentences, one deed each."""

from dataclasses import dataclass

from hostctl.config.machine import Machine
from hostctl.config.study import Reference, Study, Warmth
from hostctl.config.study_kind import words_of
from hostctl.deeds import (
    ChangeHands,
    ClearBed,
    Deed,
    JudgeReading,
    LayBlock,
    ReadIndicator,
    SendReading,
    SetGap,
    TakeBlock,
    TurnScrew,
    ZeroIndicator,
)
from hostctl.records import Place
from hostctl.turns import turn_in_words

NEAREST = "Type the nearest one."
BLOCKS_ZERO = "this block's zero"
AS_SENT = "what the axis was sent to"
"""What a reading that is hard to believe is far from."""

MAKER_FIRST = "The maker's manual comes before what is said here."
CLEAR_HANDS = "Take your hands out of the machine first."


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One prompt: the deed, the deed in a sentence, the rest, and what moves afterwards.

    once: what need not be said again to whoever has done it for a block. Where something moves
    afterwards, that hands must be out (and how hot the bed is) is said without being asked for.
    """

    deed: Deed
    text: str
    detail: str = ""
    once: str = ""
    moves_next: str = ""


def start(study: Study, machine: Machine) -> Words:
    """Before the first motion of a run."""
    kind = words_of(study.kind)
    parks = "; at the end it parks" if machine.park else ""
    hands = (
        "Nobody is asked again until it holds or ends."
        if kind.asks_nobody
        else "It moves only after an answer, and a countdown."
    )
    return Words(
        deed=ClearBed(),
        text="Clear the bed, take your hands out, and confirm that the machine may move.",
        detail=(
            f"The head rises {machine.clear_z_mm:g} mm, or as far as it can, homes, and goes over "
            f"{', '.join(study.points)}: see that nothing is above it or in its way. "
            f"{_lowers(study, machine)}{hands} {at_the_switch(machine)} "
            f"Nozzle cold, bed {bed_of(study)}{parks}. {MAKER_FIRST}"
        ),
        moves_next=f"The head rises, homes{_dry(machine.dry_cycles)}.",
    )


def at_the_switch(machine: Machine) -> str:
    """What stops it; of a simulated machine, that there is nothing to be stopped."""
    if machine.simulated:
        return "The machine is simulated: nothing real moves."
    return "Keep a hand at the mains switch: it is the emergency stop; hold, end and stop are not."


def _lowers(study: Study, machine: Machine) -> str:
    """How low the nozzle comes, where that is lower than a reading takes it."""
    if words_of(study.kind).people_set:
        return (
            f"To set the gap the nozzle comes down to z {machine.set_z_mm:g} mm: the bed must be "
            "lower there, and the nozzle tip clean. "
        )
    if study.axis is not None and machine.indicator is not None:
        lowest_mm = machine.indicator.reading_z_mm + study.axis.lowest_mm
        return (
            f"With the plunger on the bed the nozzle comes as low as z {lowest_mm:g} mm: the bed "
            "must lie well below that. "
        )
    return ""


def _dry(cycles: int) -> str:
    """`, and makes 5 dry cycles (nothing is read)`."""
    if not cycles:
        return ""
    return f", and makes {cycles} dry cycle{'s' if cycles > 1 else ''} (nothing is read)"


def change_hands(study: Study, place: Place) -> Words:
    """Another person or another method, before anything of theirs moves."""
    both = ", with ".join(name for name in (place.operator, place.method) if name)
    instruction = next((m.instruction for m in study.methods if m.name == place.method), "")
    return Words(
        deed=ChangeHands(operator=place.operator, method=place.method),
        text=f"Now {both}: confirm once you stand at the machine.",
        detail=f"In short: {_first_sentence(instruction)}" if instruction else "",
        moves_next=f"The head goes over {place.point}.",
    )


def _first_sentence(text: str) -> str:
    """What an instruction begins with; all of it is said where the gap is set."""
    first, stop, _ = text.partition(". ")
    return f"{first}{stop}".rstrip()


def turn_away(deed: TurnScrew, place: Place, just_kept: Place | None = None) -> Words:
    """Turn the screw away, so that the coming setting owes nothing to the last.

    just_kept: whose reading `redo` would take again; None: there is none.
    """
    way = deed.direction
    name = f"the {deed.screw} screw" if way else f"the screw at {place.point}"
    direction = f"{way}, seen from above" if way else "so that the bed goes down"
    return Words(
        deed=deed,
        text=f"Turn {name} {turn_in_words(deed.turn_deg)}, {direction}.",
        once=(
            "The turn lowers the bed, so that the setting begins afresh and the nozzle meets "
            f"nothing on its way down.{_redo(just_kept)}"
        ),
        moves_next=f"The head lowers to the set height over {place.point}.",
    )


def _redo(just_kept: Place | None) -> str:
    if just_kept is None:
        return ""
    return f" Redo takes the {'last reading' if just_kept.trial else 'zero'} again."


def set_gap(study: Study, place: Place) -> Words:
    """Set the gap with the method."""
    instruction = next(m.instruction for m in study.methods if m.name == place.method)
    return Words(
        deed=SetGap(method=place.method),
        text=instruction,
        once="Confirm when it is set, and leave the screw alone from then on.",
        moves_next=f"The head lifts and brings the {instrument(study)} over the same place.",
    )


def lay_block(study: Study, place: Place) -> Words:
    """The datum goes under the plunger."""
    return Words(
        deed=LayBlock(thick_mm=study.gauge.block_mm),
        text=f"Lay the {study.gauge.block_mm:g} mm gauge block on the bed under the plunger at "
        f"{place.point}.",
        detail="It and the bed must be clean.",
        moves_next="The head lowers until the plunger rests on it.",
    )


def take_block() -> Words:
    """The datum goes away again."""
    return Words(
        deed=TakeBlock(),
        text="Take the gauge block off the bed.",
        moves_next="The head lifts.",
    )


def take_block_before_homing() -> Words:
    """The position was lost with the datum under the plunger."""
    return Words(
        deed=TakeBlock(),
        text="Take the gauge block off the bed.",
        detail="Where the plunger rests on it, push the plunger up first.",
        moves_next="The head rises, then all axes home.",
    )


def zero_indicator(study: Study, place: Place, again: str = "") -> Words:
    """Bring the indicator to zero, or say what it shows."""
    typing = "." if study.reference is Reference.PREVIOUS else ", or type what it shows."
    return Words(
        deed=ZeroIndicator(),
        text=again or f"Turn the indicator to zero and confirm{typing}",
        once="The readings of this block count from here.",
        moves_next="The head lifts.",
    )


def read_indicator(place: Place, resolution_mm: float, again: str = "") -> Words:
    """Read the indicator."""
    return Words(
        deed=ReadIndicator(),
        text=again or "Read the indicator and type what it shows.",
        once=f"To the nearest graduation ({resolution_mm:g} mm), with its sign.",
        moves_next="The head lifts.",
    )


def send_reading(place: Place, again: str = "") -> Words:
    """Have the indicator's cable send what it shows."""
    return Words(
        deed=SendReading(),
        text=again or "Press the button of the indicator's cable.",
        detail="Leave indicator and head untouched.",
        once="The reading comes from the cable alone: take the button on it, or a foot switch.",
        moves_next="The head lifts.",
    )


def keep_far_reading(
    study: Study, value_mm: float, zero_mm: float = 0.0, *, zero: str = BLOCKS_ZERO
) -> Words:
    """A gauge that nobody reads gave something hard to believe. zero_mm: its block's."""
    far = _how_far(value_mm, study.gauge.plausible_mm, zero_mm, zero)
    return Words(
        deed=JudgeReading(value_mm=value_mm),
        text=f"The {instrument(study)} gives {value_mm:g} mm. Confirm to keep it, or redo it.",
        detail=far,
        moves_next="The head lifts.",
    )


def off_grid(value_mm: float, resolution_mm: float, *, sent: bool = False) -> str:
    """Why a reading between two graduations is asked for again. sent: by a cable, not typed."""
    again = "Press again, or hold and mend the study's resolution_mm." if sent else NEAREST
    return f"{value_mm:g} mm lies between two graduations of {resolution_mm:g} mm. {again}"


def too_far(
    value_mm: float,
    plausible_mm: float,
    zero_mm: float = 0.0,
    *,
    sent: bool = False,
    zero: str = BLOCKS_ZERO,
) -> str:
    """Why a reading far from anything plausible is asked for again. zero_mm: its block's.

    zero: what that is, in words.
    """
    again = "press again" if sent else "type it once more"
    return f"{_how_far(value_mm, plausible_mm, zero_mm, zero)} Look again; {again} if it is so."


def _how_far(value_mm: float, plausible_mm: float, zero_mm: float, zero: str) -> str:
    if not zero_mm:
        return f"{value_mm:g} mm is further from zero than {plausible_mm:g} mm."
    away_mm = round(abs(value_mm - zero_mm), 7)
    return (
        f"{value_mm:g} mm is {away_mm:g} mm from {zero} ({zero_mm:g} mm), "
        f"more than {plausible_mm:g} mm."
    )


def must_be_zero(value_mm: float) -> str:
    """Why `previous` wants the indicator itself at zero."""
    return f"The indicator shows {value_mm:g} mm: turn it to zero, then confirm."


def instrument(study: Study) -> str:
    """What reads, in a person's words."""
    return "probe" if study.gauge.kind == "probe" else "indicator"


def hands_out(warmth: Warmth | None) -> str:
    """Right above the key that has something moved; never left out."""
    return f"The bed is {_bed(warmth)}. {CLEAR_HANDS}" if warmth else CLEAR_HANDS


def bed_of(study: Study) -> str:
    """`cold`, or how hot it gets and what not to do then."""
    heat = study.loop.heat if study.loop else None
    return f"at up to {heat.bed_c:g} °C: don't touch it" if heat else _bed(study.warmth)


def _bed(warmth: Warmth | None) -> str:
    return f"at {warmth.bed_c:g} °C: don't touch it" if warmth else "cold"
