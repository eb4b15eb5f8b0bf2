"""The first screen of a levelling: the question, the answer with its doubt, map and convergence."""

from collections.abc import Iterator

from hostctl.report.document.blocks import Block, Figure, Paragraph, Role
from hostctl.report.document.significant import in_mm, significant, stated_mm
from hostctl.report.figures.bed.bed_map import BedMap
from hostctl.report.figures.bed.convergence import Convergence, TiltRow
from hostctl.report.figures.bed.plan import Outline, ScrewSpot, Spot
from hostctl.report.kinds.levelling.result import LevelResult, RoundFound, ScrewFound, TurnFound
from hostctl.report.kinds.levelling.words import (
    is_turned,
    none_is_told,
    step_of,
    tilt_alone,
    tilt_words,
    turn_words,
    whose_bed,
)

ABOUT_MEAN = "the mean height"
NONE_TOLD = "These heights are too uncertain to tell any turn from none."
_TURNS_OF = {"turn", "out-of-travel"}


def first_screen(result: LevelResult) -> Iterator[Block]:
    """What anyone should see, whoever reads no further."""
    yield Paragraph(text=question(result), role=Role.QUESTION)
    yield Paragraph(text=answer(result), role=Role.ANSWER)
    yield Paragraph(text=_left(result), role=Role.ANSWER)
    yield bed_figure(result)
    if result.within_mm is not None and len(result.rounds) > 1:
        yield _convergence(result, result.within_mm)


def question(result: LevelResult) -> str:
    """In plain words."""
    if result.within_mm is None:
        return f"How level is {whose_bed(result)}?"
    return f"Is {whose_bed(result)} level to within {stated_mm(result.within_mm)} mm?"


def answer(result: LevelResult) -> str:
    """Yes, no, or that it can't be told, with the tilt and its doubt."""
    tilt = f"over what was measured it is tilted by {tilt_words(result.last.tilt)}"
    uncertain = f" {NONE_TOLD}" if none_is_told(result.last.turns) else ""
    if result.within_mm is None:
        return f"{tilt[0].upper()}{tilt[1:]}.{uncertain}"
    return f"{_verdict(result.last, result.within_mm)}: {tilt}{_why(result.last)}.{uncertain}"


def _verdict(last: RoundFound, within_mm: float) -> str:
    if last.verdict == "jumped":
        return "That can't be said"
    low, value, high = last.tilt.low_mm, last.tilt.value_mm, last.tilt.high_mm
    if low is None or high is None:
        return "As measured, yes" if value <= within_mm else "As measured, no"
    if high <= within_mm:  # and yet no better: it was not met everywhere
        return "Where it was met, yes" if last.verdict == "no-better" else "Yes"
    if low > within_mm:
        return "No"
    return f"As measured, {'yes' if value <= within_mm else 'no'}, but its doubt reaches across"


def _why(last: RoundFound) -> str:
    return {
        "turn": "",
        "within-tolerance": "",
        "within-rig": "; what is left is within what this rig can measure and hands can turn",
        "no-better": "; more turns by these heights would make it no better",
        "out-of-travel": "; a screw would have to go further than it can",
        "jumped": ", but readings jumped between rounds, as they do where a gauge was knocked",
    }[last.verdict]


def _left(result: LevelResult) -> str:
    zone = significant(result.warp.minimum_zone_mm)
    if len(result.last.heights) == 3:
        return "Three points always lie on a plane: of warp they tell nothing."
    return (
        f"Apart from its tilt the {_bed(result)} is {zone} mm out of flat, which no screw can mend."
    )


def _bed(result: LevelResult) -> str:
    return "bed" if result.machine else "surface"


def bed_figure(result: LevelResult) -> Figure:
    """How it stands, with what is to be turned next."""
    last = result.last
    advised = last.turns if last.verdict in _TURNS_OF else ()
    heights = [one.height_mm for one in last.heights]
    turned = [one for one in advised if is_turned(one)]
    step = step_of(last.heights)
    reach = f"{in_mm(min(heights), step)} to {in_mm(max(heights), step)} mm about their mean"
    which = f"Round {last.number}: heights" if len(result.rounds) > 1 else "Heights"
    says = f"{which} from {reach}"
    if turned:
        says += f"; {len(turned)} of {len(advised)} screws are to be turned"
    return Figure(
        drawing=BedMap(
            spots=tuple(
                Spot(name=one.point, x_mm=one.x_mm, y_mm=one.y_mm, height_mm=one.height_mm)
                for one in last.heights
            ),
            screws=tuple(_screw(one, advised) for one in result.screws),
            outline=outline_of(result),
            about=ABOUT_MEAN,
            step_mm=step,
            from_below=any(one.seen_from == "below" for one in advised),
        ),
        says=f"{says}.",
        name="bed-map",
    )


def outline_of(result: LevelResult) -> Outline | None:
    """Where the nozzle may go."""
    edge = result.travel
    if edge is None:
        return None
    return Outline(
        left_mm=edge.left_mm,
        right_mm=edge.right_mm,
        front_mm=edge.front_mm,
        back_mm=edge.back_mm,
    )


def _screw(screw: ScrewFound, advised: tuple[TurnFound, ...]) -> ScrewSpot:
    turn = next((one for one in advised if one.screw == screw.name), None)
    return ScrewSpot(
        name=screw.name,
        x_mm=screw.x_mm,
        y_mm=screw.y_mm,
        turn_deg=_clockwise_deg(turn) if turn is not None else 0.0,
        words=turn_words(turn) if turn is not None else "",
    )


def _clockwise_deg(turn: TurnFound) -> float:
    """0 where it stays."""
    if not is_turned(turn):
        return 0.0
    return turn.turn_deg if turn.direction == "clockwise" else -turn.turn_deg


def _convergence(result: LevelResult, within_mm: float) -> Figure:
    first, last = tilt_alone(result.rounds[0].tilt), tilt_alone(result.last.tilt)
    return Figure(
        drawing=Convergence(
            rows=tuple(_tilt_row(one) for one in result.rounds),
            within_mm=within_mm,
            rig_mm=result.rig_mm,
        ),
        says=f"Tilt by round: from {first} to {last} in {len(result.rounds)} rounds.",
        name="convergence",
    )


def _tilt_row(one: RoundFound) -> TiltRow:
    tilt = one.tilt
    return TiltRow(
        label=f"round {one.number}",
        tilt_mm=tilt.value_mm,
        low_mm=tilt.value_mm if tilt.low_mm is None else tilt.low_mm,
        high_mm=tilt.value_mm if tilt.high_mm is None else tilt.high_mm,
        says=tilt_words(tilt),
    )
