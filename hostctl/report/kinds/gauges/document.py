"""A comparison of two gauges as a document."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.report.document.blocks import (
    Block,
    Column,
    Document,
    Figure,
    Heading,
    Items,
    Paragraph,
    Role,
    Table,
)
from hostctl.report.document.question import Question
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import beside, short_number, significant
from hostctl.report.figures.order_chart import OrderChart, Placed, Stretch
from hostctl.report.kinds.gauges.result import GaugesResult, PointFound


def document(result: GaugesResult, explained: bool) -> Document:
    """The answer, the differences in order, point by point, cautions.

    explained: how the interval comes about too.
    """
    return Document(title=result.title, blocks=tuple(_blocks(result, explained=explained)))


GAUGES = Question(name="gauges", version=1, result=GaugesResult, document=document)

_KINDS = {
    "typed": "the indicator as typed",
    "probe": "the machine's probe",
    "serial-indicator": "the indicator on its line",
    "typing-indicator": "the indicator on its cable",
}
_ZEROS = (
    "A mean difference holds the zeros of both gauges: one that was set by hand, or a probe's "
    "height above the nozzle, makes it as large as you like. What tells of the gauges is how "
    "the difference scatters, and how it changes from point to point."
)
_PLACES = (
    "They touch the same place, but not with the same tip: a probe and a plunger press "
    "differently, and see a rough or soft bed differently."
)
_SAME_WAY = "Both were taken to count the same way; nobody was asked."
_MAY_BE = "  may lie, 95 %"
_FORMULA = (
    "d = first less second in each pair; the mean of d, with Student's interval, widened by what "
    "rounding may have done to either gauge's mean (half a graduation at most)."
)


def _blocks(result: GaugesResult, *, explained: bool) -> Iterator[Block]:
    yield Paragraph(text=_question(result), role=Role.QUESTION)
    yield Paragraph(text=_answer(result), role=Role.ANSWER)
    yield _chart(result)
    yield Heading(text="Differences, point by point")
    yield _table(result)
    yield Heading(text="How sure is that?")
    yield Paragraph(text=_how_sure(result))
    if explained:
        yield Heading(text="Formulas")
        yield Items(items=(_FORMULA,))
    yield Heading(text="Before believing it")
    yield Items(items=tuple(_cautions(result)), role=Role.CAUTION)


def _question(result: GaugesResult) -> str:
    return f"How far does {_named(result.first.name)} differ from {_named(result.second.name)}?"


def _named(name: str) -> str:
    return _KINDS.get(name, name)


def _answer(result: GaugesResult) -> str:
    first = result.points[0]
    if isinstance(first.mean, NotYet):
        return f"That can't be said yet: {reason_words(first.mean.reason)}."
    scatter = max(
        (one.spread for one in result.points if isinstance(one.spread, Estimate)),
        key=lambda spread: spread.value,
    )
    scatters = (
        f"in a pair it scatters with s = {significant(scatter.value)} mm ({_from_to(scatter)} mm)"
    )
    if result.apart is None:
        value, between = _estimate(first.mean)
        return f"At {first.point} by {value} mm ({between} mm); {scatters}."
    means = [one.mean.value for one in result.points if isinstance(one.mean, Estimate)]
    apart = max(means) - min(means)
    low, high = result.apart.low, result.apart.high
    if low > 0.0:
        return (
            f"Not by the same everywhere: from point to point the mean difference changes by "
            f"{significant(apart)} mm ({significant(low)} to {significant(high)} mm); {scatters} "
            "at most."
        )
    return (
        f"By the same everywhere, as far as this tells: from point to point the mean difference "
        f"changes by {significant(apart)} mm, and by {significant(high)} mm at most; {scatters} "
        "at most."
    )


def _estimate(of: Estimate) -> tuple[str, str]:
    """`−0.4979`, and `−0.5021 to −0.4937`."""
    half = max((of.high - of.low) / 2, 1e-6)
    value, low, high = (beside(one, half, sign=True) for one in (of.value, of.low, of.high))
    return value, f"{low} to {high}"


def _from_to(of: Estimate) -> str:
    if of.low <= 0.0:
        return f"up to {significant(of.high)}"
    return f"{significant(of.low)} to {significant(of.high)}"


def _chart(result: GaugesResult) -> Figure:
    names = [one.point for one in result.points]
    step_mm = min(result.first.resolution_mm, result.second.resolution_mm)
    mean = beside(result.mean_mm, step_mm, digits=1, sign=True)
    off = [one.difference_mm - result.mean_mm for one in result.pairs]
    return Figure(
        drawing=OrderChart(
            kinds=tuple(names),
            settings=tuple(
                Placed(place=one.place, value_mm=value, kind=names.index(one.point))
                for one, value in zip(result.pairs, off, strict=True)
            ),
            stretches=tuple(_stretches(result)),
            step_mm=step_mm,
            within_mm=None,
            counted_from=f"the mean of all differences, {mean} mm",
            foot="pairs in the order read",
        ),
        says=(
            f"{len(result.pairs)} differences, first gauge less second: from "
            f"{beside(min(off), step_mm, sign=True)} to {beside(max(off), step_mm, sign=True)} mm "
            "about their mean."
        ),
        name="differences",
    )


def _stretches(result: GaugesResult) -> Iterator[Stretch]:
    for point in result.points:
        places = [one.place for one in result.pairs if one.point == point.point]
        yield Stretch(first=min(places), last=max(places), label=point.point)


def _table(result: GaugesResult) -> Table:
    return Table(
        columns=(
            Column(head="point"),
            Column(head="pairs", is_number=True),
            Column(head="mean", unit="mm", is_number=True),
            Column(head="s", unit="mm", is_number=True),
        ),
        rows=tuple(row for one in result.points for row in _rows(one)),
    )


def _rows(one: PointFound) -> Iterator[tuple[str, ...]]:
    if not isinstance(one.mean, Estimate) or not isinstance(one.spread, Estimate):
        yield one.point, str(one.pairs), "", ""
        return
    value, between = _estimate(one.mean)
    yield one.point, str(one.pairs), value, significant(one.spread.value)
    yield _MAY_BE, "", between, _from_to(one.spread)


def _how_sure(result: GaugesResult) -> str:
    first, second = result.first, result.second
    together = " together" if len(result.points) > 1 else ""
    return (
        f"In brackets, and in the table, stands where the truth may lie (95 %{together} for the "
        f"means), with the "
        f"rounding of both allowed for: {_named(first.name)} is read to "
        f"{short_number(first.resolution_mm)} mm, {_named(second.name)} to "
        f"{short_number(second.resolution_mm)} mm. Which came first changed from pair to pair, so "
        "a slow drift goes into neither."
    )


def _cautions(result: GaugesResult) -> Iterator[str]:
    yield from result.notes
    if result.left_out:
        readings = "1 reading" if result.left_out == 1 else f"{result.left_out} readings"
        yield f"{readings} left out, whose other one is missing."
    yield _ZEROS
    yield _PLACES if result.sense == "heights" else _SAME_WAY
