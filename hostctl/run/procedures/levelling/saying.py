"""What a round of levelling decided, in plain sentences."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from hostctl.metrology.levelling.outcome import Moved, Noticed, Outcome
from hostctl.metrology.levelling.standing import Verdict
from hostctl.run.procedures.levelling.reach import CLEARANCE_MM, Reach
from hostctl.run.procedures.levelling.turns import Turn

if TYPE_CHECKING:
    from hostctl.config.parts.level import Level
    from hostctl.run.procedures.levelling.judging import Judged

FEW = ("no screw", "one screw", "two screws", "three screws", "four screws")
GOES_ON = (Verdict.TURN, Verdict.JUMPED)
STRAINED_FROM = 4
"""On so many screws a plate can be strained by them; three carry it without (trade fact)."""


def verdict(judged: "Judged", level: "Level", turns: Sequence[Turn]) -> str:
    """One sentence or two: how the bed stands, and what comes of it."""
    tilt = judged.standing.tilt
    high = f"tilted by {tilt.value_mm:.3f} mm"
    doubt = f"{high} ({tilt.low_mm:.3f} to {tilt.high_mm:.3f} mm)"
    match judged.verdict:
        case Verdict.WITHIN_TOLERANCE:
            said = f"the bed is level within {level.within_mm:g} mm: {doubt}."
        case Verdict.WITHIN_RIG:
            said = (
                f"the bed is {doubt}. Stop: what is left is within what this rig can measure, "
                f"and what hands can turn ({judged.advice.error_mm:.3f} mm)."
            )
        case Verdict.NO_BETTER:
            said = f"the bed is {doubt}{_no_better(judged.read.unmet)}"
        case Verdict.OUT_OF_TRAVEL:
            said = f"the bed is {doubt}. {_out_of_reach(judged)}"
        case Verdict.JUMPED:
            said = f"the readings jumped{_jump(judged)}, so no screw is turned by them."
        case Verdict.TURN:
            said = f"the bed is {doubt}. {_count(len(turns))} to be turned."
    return f"Round {judged.number}: {said}"


def _no_better(unmet: Sequence[str]) -> str:
    if not unmet:
        return "; turning made it no better, so it ends here."
    return (
        f" where it was met. It was not at {', '.join(unmet)}, so it ends here: turn the screw "
        "there up by hand until the plunger meets the bed, then begin again."
    )


def _count(turns: int) -> str:
    how_many = FEW[turns] if turns < len(FEW) else f"{turns} screws"
    return f"{how_many[0].upper()}{how_many[1:]} {'is' if turns == 1 else 'are'}"


def _out_of_reach(judged: "Judged") -> str:
    if judged.advice.reachable:
        return (
            f"It stands so high that a turn the wrong way would bring it within {CLEARANCE_MM:g} "
            "mm of the nozzle: lower it by hand at all screws alike, then begin again."
        )
    return (
        "The travel left to the screws does not let it be levelled: see can_raise_mm and "
        "can_lower_mm in the machine file."
    )


def _jump(judged: "Judged") -> str:
    jump = judged.heights.jump
    if jump is None:
        return " between this round and the last, in a way that no screw explains"
    lasts = "and stayed there" if jump.lasting else "once"
    return f" by {jump.size_mm:+.3f} mm after reading {jump.after} {lasts}"


def noticed(
    judged: "Judged", slackened: str | None, lowest_mm: float | None, *, broken_off: bool
) -> Iterator[str]:
    """What was out of the ordinary in a round, or is still to be done by hand, a sentence each.

    lowest_mm: no lower bed is met. broken_off: the run stood still during the last turns.
    """
    if broken_off:
        yield "The run stood still while screws were being turned, so it was measured anew."
    if judged.read.unmet:
        yield _unmet(judged.read.unmet, lowest_mm)
    if judged.outcome is not None:
        yield from of_turning(judged.outcome)
    if judged.verdict is Verdict.JUMPED:
        yield (
            "See that indicator and bed are clamped and nothing was touched; it is measured "
            "once more."
        )
    if judged.verdict is Verdict.TURN and judged.strain_mm.any():
        yield (
            f"Turns that were broken off strain the plate by {abs(judged.strain_mm).max():.2f} mm "
            "at the screws; these turns undo that too."
        )
    if judged.verdict is Verdict.TURN and not judged.advice.whole:
        share = max(round(judged.advice.share * 100), 1)
        yield (
            f"{share} % of it now, the rest next round: all of it, made the wrong way, could bring "
            f"the bed within {CLEARANCE_MM:g} mm of the nozzle."
        )
    if slackened is not None and judged.verdict not in GOES_ON:
        yield (
            f"Bring the {slackened} screw up last, little by little, with the indicator over it, "
            "and stop as soon as the number moves: then it just carries."
        )


def _unmet(unmet: Sequence[str], lowest_mm: float | None) -> str:
    where = ", ".join(unmet)
    if lowest_mm is None:
        return f"At {where} no height was taken."
    return (
        f"At {where} the plunger hung free: the bed is lower than {lowest_mm:.2f} mm there, and no "
        "height was taken. What is advised goes by the other points."
    )


def of_turning(did: Outcome) -> Iterator[str]:
    """What was noticed of the last turns."""
    if did.all_other_way:
        yield (
            "Every screw went the other way: see raises_bed and seen_from in the machine file, "
            "then begin again."
        )
        return
    yield from (said for one in did.moved if (said := _of_screw(one)))


def _of_screw(one: Moved) -> str:
    moved = f"the bed moved {one.moved_mm:+.3f} mm there, {one.expected_mm:+.3f} mm was expected"
    match one.noticed:
        case Noticed.SHORT:
            return f"The {one.screw} screw was turned short: {moved}."
        case Noticed.FAR:
            return f"The {one.screw} screw was turned too far: {moved}."
        case Noticed.OTHER_WAY:
            return f"The {one.screw} screw was turned the other way: {moved}."
        case Noticed.NOT_TURNED:
            return f"The {one.screw} screw seems not to have been turned: {moved}."
        case Noticed.INSTEAD:
            return f"The {one.screw} screw seems to have been turned for {one.instead_of}: {moved}."
        case Noticed.NOTHING:
            return ""


def left(judged: "Judged", level: "Level", screws: int) -> Iterator[str]:
    """What no turn mends, once no more are made: warp, and on four or more screws maybe strain."""
    if judged.verdict in GOES_ON:
        return
    zone_mm = judged.standing.zone.width
    yield (
        f"What is left is no tilt: the points lie within a slab of {zone_mm:.3f} mm, which no "
        "screw can make thinner."
    )
    if level.slackened is None and screws >= STRAINED_FROM:
        yield (
            f"On {screws} screws heights alone can't tell a warped plate from one that its screws "
            "strain. To tell, slacken one and level on the others: 'slackened' in the study file."
        )


def too_few_met(number: int, unmet: Sequence[str], reach: Reach) -> str:
    """Where no plane can be had."""
    lowest_mm = reach.lowest_mm or 0.0
    return (
        f"Round {number}: the plunger hung free at {', '.join(unmet)}, so that too few heights "
        f"are left for a plane. The bed is lower than {lowest_mm:.2f} mm there: turn it up by "
        "hand, or give a greater press_mm, then begin again."
    )
