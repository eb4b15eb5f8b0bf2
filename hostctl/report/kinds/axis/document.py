"""An axis test as a document."""

from collections.abc import Iterator

from hostctl.report.document.blocks import Block, Document, Figure, Heading, Items, Paragraph, Role
from hostctl.report.document.question import Question
from hostctl.report.document.significant import in_mm, short_number, significant
from hostctl.report.figures.axis.deviations import Band, DeviationRow, Deviations
from hostctl.report.kinds.axis.cautions import cautions
from hostctl.report.kinds.axis.result import AxisResult, SideFound, TargetFound
from hostctl.report.kinds.axis.standard_table import at_each_target, summary
from hostctl.report.kinds.axis.words import figure, length, may_be, plain, signed


def document(result: AxisResult, explained: bool) -> Document:
    """The answer and a figure, the standard's tables, how sure, cautions.

    explained: which formula each figure comes by too.
    """
    return Document(title=result.title, blocks=tuple(_blocks(result, explained=explained)))


AXIS = Question(name="axis", version=1, result=AxisResult, document=document)

_FORMULAS = (
    "x = position reached less target; x̄ and s: mean and standard deviation of the runs at one "
    "target from one side.",
    "B = x̄ up less x̄ down at one target; of the axis: the largest in size.",
    "R up = the largest 4 s up, R down likewise; R of a target = the largest of "
    "2 s up + 2 s down + |B|, 4 s up and 4 s down; of the axis: the largest of all.",
    "E, systematic deviation = highest less lowest x̄; M, mean bidirectional deviation = the same "
    "of the means of both sides; A, accuracy = highest x̄ + 2 s less lowest x̄ \N{MINUS SIGN} 2 s.",
    "All by ISO 230-2:2014, clause 3, from memory.",
)


def _blocks(result: AxisResult, *, explained: bool) -> Iterator[Block]:
    yield Paragraph(text=_question(result), role=Role.QUESTION)
    yield Paragraph(text=_answer(result), role=Role.ANSWER)
    yield _chart(result)
    yield Heading(text="At each target")
    yield at_each_target(result)
    yield Heading(text="Of the axis")
    yield summary(result)
    yield Heading(text="How sure is that?")
    yield from map(_paragraph, _how_sure(result))
    if explained:
        yield Heading(text="Formulas")
        yield Items(items=_FORMULAS)
    yield Heading(text="Before believing it")
    yield Items(items=tuple(cautions(result)), role=Role.CAUTION)


def _paragraph(text: str) -> Paragraph:
    return Paragraph(text=text)


def _question(result: AxisResult) -> str:
    whose = f"the Z axis of {result.machine}" if result.machine else "the axis"
    return f"How well does {whose} come back to a height, and from both sides alike?"


def _answer(result: AxisResult) -> str:
    low, high = result.targets[0].target_mm, result.targets[-1].target_mm
    over = f"From {plain(low)} to {plain(high)} mm"
    if result.repeatability is None or result.reversal is None:
        one = result.repeatability_up or result.repeatability_down
        way = "from below" if result.repeatability_up else "from above"
        return f"{over} it repeats, come to {way}, within {figure(result, one)}."
    return (
        f"{over} it repeats within {figure(result, result.repeatability_up)} from below and "
        f"{figure(result, result.repeatability_down)} from above; between the two sides lies "
        f"{figure(result, result.reversal)} at most. Both together: "
        f"{figure(result, result.repeatability)}."
    )


def _chart(result: AxisResult) -> Figure:
    return Figure(
        drawing=Deviations(
            rows=tuple(_row(result, one) for one in reversed(result.targets)),
            step_mm=result.resolution_mm,
            about="the mean at the first target" if result.relative else "the target",
        ),
        says=_seen(result),
        name="deviations",
    )


def _seen(result: AxisResult) -> str:
    means = [
        side.mean_mm for one in result.targets for side in (one.up, one.down) if side is not None
    ]
    said = f"Mean deviations from {signed(result, min(means))} to {signed(result, max(means))} mm"
    if result.mean_reversal_mm is None:
        return f"{said}."
    return f"{said}; from below less from above {signed(result, result.mean_reversal_mm)} mm."


def _row(result: AxisResult, one: TargetFound) -> DeviationRow:
    reversal = one.reversal_mm
    return DeviationRow(
        label=f"{plain(one.target_mm)} mm",
        up=_band(one.up),
        down=_band(one.down),
        says="" if reversal is None else f"B {signed(result, reversal)}",
    )


def _band(side: SideFound | None) -> Band | None:
    if side is None:
        return None
    low_mm, high_mm = side.limits_mm
    return Band(mean_mm=side.mean_mm, low_mm=low_mm, high_mm=high_mm)


def _how_sure(result: AxisResult) -> Iterator[str]:
    yield (
        f"{result.runs} runs, read to {short_number(result.resolution_mm)} mm. In brackets, and "
        "below R and B, stands where each figure of the axis itself may lie (95 %), whatever the "
        f"scatter at each target, with rounding allowed for: {result.runs} runs at a target say "
        "little of its scatter."
    )
    spread = result.spread
    if spread.value_mm is None:
        yield (
            f"If the scatter is the same everywhere, its s is {may_be(spread.interval)} mm: the "
            "readings are too coarse to say more."
        )
    else:
        yield (
            f"If the scatter is the same everywhere, its s is {significant(spread.value_mm)} mm "
            f"({may_be(spread.interval)} mm), so 4 s is {significant(4 * spread.value_mm)} mm."
        )
    half_mm = in_mm(result.resolution_mm / 2, result.resolution_mm / 10).lstrip("+")
    yield (
        f"Rounding may move each mean by up to {half_mm} mm, so a B, E or M by twice that. Where "
        f"all readings are alike s is {length(result, 0.0)}, which means within the rounding, not "
        "none."
    )
