"""What a round of levelling decided, in plain sentences."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from hostctl.metrology.levelling.outcome import Moved, Noticed, Outcome
from hostctl.metrology.levelling.standing import Verdict
from hostctl.run.procedures.levelling.reach import CLEARANCE_MM, Reach
from hostctl.run.procedures.levelling.turns import Turn, asked_deg

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew
    from hostctl.config.parts.level import Level
    from hostctl.run.procedures.levelling.judging import Judged, Judging
    from hostctl.run.procedures.levelling.reading import Read

FEW = ("no screw", "one screw", "two screws", "three screws", "four screws")
GOES_ON = (Verdict.TURN, Verdict.JUMPED)
STRAINED_FROM = 4
"""On so many screws a plate can be strained by them; three carry it without (trade fact)."""


def verdict(judged: "Judged", judging: "Judging", turns: Sequence[Turn]) -> str:
    """One sentence or two: how the bed stands, and what comes of it."""
    tilt = judged.standing.tilt
    high = f"tilted by {tilt.value_mm:.3f} mm"
    doubt = f"{high} ({tilt.low_mm:.3f} to {tilt.high_mm:.3f} mm)"
    match judged.verdict:
        case Verdict.WITHIN_TOLERANCE:
            said = f"the bed is level within {judging.level.within_mm:g} mm: {doubt}."
        case Verdict.WITHIN_RIG:
            said = (
                f"the bed is {doubt}. Stop: what is left is within what this rig can measure, "
                f"and what hands can turn ({judged.advice.error_mm:.3f} mm)."
            )
        case Verdict.NO_BETTER:
            said = f"the bed is {doubt}{_no_better(judged)}"
        case Verdict.OUT_OF_TRAVEL:
            said = f"the bed is {doubt}. {_out_of_reach(judged, judging.reach)}"
        case Verdict.JUMPED:
            said = f"the readings jumped{_jump(judged)}, so no screw is turned by them."
        case Verdict.TURN:
            said = f"the bed is {doubt}. {_count(len(turns))} to be turned."
    return f"Round {judged.number}: {said}"


def _count(turns: int) -> str:
    how_many = FEW[turns] if turns < len(FEW) else f"{turns} screws"
    return f"{how_many[0].upper()}{how_many[1:]} {'is' if turns == 1 else 'are'}"


def _no_better(judged: "Judged") -> str:
    if judged.outcome is not None and judged.outcome.all_other_way:
        return "; turning made it worse, so it ends here."
    unmet = judged.read.unmet
    if not unmet:
        return "; turning made it no better, so it ends here."
    return (
        f" where it was met. It was not at {', '.join(unmet)}, so it ends here: turn the screw "
        "there up by hand until the plunger meets the bed, then begin again."
    )


def _out_of_reach(judged: "Judged", reach: Reach) -> str:
    if judged.advice.reachable:
        or_zero = (
            f" If it does not, the number with the plunger hanging free, {judged.read.zero_mm:g} "
            "mm, was wrong: begin again all the same."
            if reach.lowest_mm is not None
            else ""
        )
        return (
            f"It stands so high that a turn the wrong way would bring it within {CLEARANCE_MM:g} "
            f"mm of the nozzle: lower it by hand at all screws alike, then begin again.{or_zero}"
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


def noticed(judged: "Judged", judging: "Judging", *, broken_off: bool) -> Iterator[str]:
    """What was out of the ordinary in a round, or is still to be done by hand, a sentence each.

    broken_off: the run stood still during the last turns.
    """
    slackened = judging.level.slackened
    yield from _of_reading(judged, judging.reach)
    if broken_off:
        yield "The run stood still while screws were being turned, so it was measured anew."
    if judged.outcome is not None:
        yield from _of_turning(judged.outcome, judged.asked, judging.screws)
    if judged.verdict is Verdict.JUMPED:
        yield (
            "See that indicator and bed are clamped and nothing was touched; it is measured "
            "once more."
        )
    if judged.verdict is Verdict.TURN and judged.strain_mm.any():
        yield (
            "Turns that were left out or broken off strain the plate by "
            f"{abs(judged.strain_mm).max():.2f} mm at the screws; these turns undo that too."
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


def _of_reading(judged: "Judged", reach: Reach) -> Iterator[str]:
    if judged.read.gainsaid and judged.number == 1:
        goes = "grows" if judged.read.sign > 0 else "falls"
        yield (
            f"The number {goes} as the plunger is pressed in, other than was said; it is gone by "
            "the readings."
        )
    if judged.read.unmet:
        yield _unmet(judged.read.unmet, reach.lowest_mm)


def _unmet(unmet: Sequence[str], lowest_mm: float | None) -> str:
    where = ", ".join(unmet)
    if lowest_mm is None:
        return f"At {where} no height was taken."
    return (
        f"At {where} the plunger hung free: the bed is lower than {lowest_mm:.2f} mm there, and no "
        "height was taken. What is advised goes by the other points."
    )


def _of_turning(did: Outcome, turns: Sequence[Turn], screws: "Sequence[BedScrew]") -> Iterator[str]:
    """What was noticed of the last turns."""
    if did.all_other_way:
        seen_from = {screw.name: screw.seen_from.value for screw in screws}
        back = ", ".join(_back(turn, seen_from[turn.screw]) for turn in turns)
        yield (
            "Every screw went the other way. If they were turned as told, turn each back: "
            f"{back}. Then correct raises_bed in the machine file (or seen_from) and level again."
        )
        return
    asked = {turn.screw for turn in turns}
    swapped = {(one.screw, one.instead_of) for one in did.moved}
    for one in did.moved:
        both = one.screw in asked and (one.instead_of, one.screw) not in swapped
        if said := _of_screw(one, both=both):
            yield said


def _back(turn: Turn, seen_from: str) -> str:
    """`front-left 118° anticlockwise`: as it is undone from where it was made."""
    is_back = "anticlockwise" if turn.direction == "clockwise" else "clockwise"
    way = is_back if seen_from == "above" else turn.direction
    return f"{turn.screw} {asked_deg(turn)}° {way}, seen from {seen_from}"


def _of_screw(one: Moved, *, both: bool) -> str:
    """both: a turn of its own was asked for too."""
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
            own = ", its own turn besides" if both else ""
            other = f"for {one.instead_of}{own}"
            return f"The {one.screw} screw seems to have been turned {other}: {moved}."
        case Noticed.NOTHING:
            return ""


def left(judged: "Judged", level: "Level", screws: int) -> Iterator[str]:
    """What no turn mends, once no more are made: warp, and on four or more screws maybe strain."""
    if judged.verdict not in (Verdict.WITHIN_TOLERANCE, Verdict.WITHIN_RIG):
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


def too_few_met(number: int, read: "Read", reach: Reach) -> str:
    """Where no plane can be had."""
    where = f"Round {number}:"
    if read.enough:
        met = ", ".join(read.names)
        return f"{where} {met} lie on one line, which makes no plane. Level by other points too."
    unmet = ", ".join(read.unmet)
    if reach.lowest_mm is None:
        return f"{where} no height was taken at {unmet}: too few for a plane. Level again."
    return (
        f"{where} the plunger hung free at {unmet}, or nothing was read there, so that too few "
        f"heights are left for a plane. Where it hung free, with the free number "
        f"{read.zero_mm:g} mm, the bed is lower than {reach.lowest_mm:.2f} mm: turn it up by hand, "
        "or give a greater press_mm, then begin again."
    )
