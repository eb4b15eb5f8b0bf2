"""How widely settings scatter, with what certainty, and what the rounding hides of it."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import MethodResult
from hostctl.report.analysis.told.answer import short_figure
from hostctl.report.analysis.told.tables import (
    read_about,
    read_legend,
    read_table,
    setting_legend,
    setting_table,
)
from hostctl.report.analysis.told.words import Words, listed
from hostctl.report.document.blocks import Block, Figure, Heading, Paragraph
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow


def how_widely(analysis: Analysis) -> Iterator[Block]:
    """Each spread with its interval, that of the rig beside them."""
    rows = tuple(_spreads(analysis))
    yield Heading(text="How widely do settings scatter?" if _set(analysis) else _ITSELF)
    if rows:
        drawing = IntervalChart(rows=rows, along="size", unit="mm", against=None)
        yield Figure(drawing=drawing, says=_seen(analysis), name="spreads")
    yield read_table(analysis)
    yield Paragraph(text=f"In mm: {read_about(analysis)}. {read_legend(analysis)}")
    if analysis.goal is None and analysis.rig is not None:
        yield Paragraph(text="The settings themselves, mm, the rig taken out:")
        yield setting_table(analysis)
        yield Paragraph(text=setting_legend(analysis))


_ITSELF = "How widely do readings scatter?"


def what_rounding_hides(analysis: Analysis) -> Iterator[Block]:
    """Nothing where the readings are fine enough for what was found."""
    hidden = [
        (result, result.spread)
        for result in analysis.results
        if isinstance(result.spread, RoundedSpread) and _hides(result, result.spread)
    ]
    if not hidden:
        return
    words = Words.of(analysis)
    yield Heading(text="What does the rounding hide?")
    drawing = IntervalChart(
        rows=tuple(row for result, spread in hidden for row in _two_ways(result, spread, words)),
        along="size",
        unit="mm",
        against=None,
    )
    names = [result.name for result, _ in hidden]
    graduation = f"{analysis.source.resolution_mm:.6g} mm"
    result, widest = max(hidden, key=lambda pair: pair[1].interval.high)
    says = (
        f"Below one graduation of {graduation}, or no more than a bound: {listed(names)}. Each "
        f"reading is anywhere within its graduation; allowing for that the true s of {result.name} "
        f"is {words.span(widest.interval)} mm (95 %), where readings taken as exact would say "
        f"{words.span(widest.ordinary.interval)} mm."
    )
    yield Figure(drawing=drawing, says=says, name="rounding")


def _set(analysis: Analysis) -> bool:
    return not analysis.source.nobody_set


def _hides(result: MethodResult, spread: RoundedSpread) -> bool:
    return result.below_graduation or isinstance(spread.quoted, NotYet)


def _spreads(analysis: Analysis) -> Iterator[IntervalRow]:
    words, method = Words.of(analysis), None
    for result in analysis.results:
        if isinstance(result.spread, RoundedSpread):
            head = result.method if result.operator and result.method != method else ""
            method = result.method
            label = result.operator or result.method
            yield spread_row(label, result.spread, words, head=head)
    if analysis.rig is not None:
        label = f"rig, {analysis.rig.name}"
        yield spread_row(label, analysis.rig.spread, words, lesser=True)


def spread_row(
    label: str, spread: RoundedSpread, words: Words, *, head: str = "", lesser: bool = False
) -> IntervalRow:
    """One spread, or the bound that is known of it."""
    return IntervalRow(
        label=label,
        value=spread.quoted.value if isinstance(spread.quoted, Estimate) else None,
        low=spread.interval.low,
        high=spread.interval.high,
        says=words.spread(spread),
        head=head,
        lesser=lesser,
    )


def _two_ways(result: MethodResult, spread: RoundedSpread, words: Words) -> Iterator[IntervalRow]:
    ordinary = spread.ordinary
    span = f"s = {words.mm(ordinary.value)} mm (95 %: {words.span(ordinary.interval)})"
    yield IntervalRow(
        label="as if exact",
        value=ordinary.value,
        low=ordinary.low,
        high=ordinary.high,
        says=span,
        head=result.name,
        lesser=True,
    )
    yield spread_row("as rounded", spread, words)


def _seen(analysis: Analysis) -> str:
    """The smallest, the largest and the rig, each by its figure or as a bound."""
    words, results = Words.of(analysis), analysis.results
    says = "Bars are where each true s may lie (95 %)"
    if analysis.smallest is None or analysis.largest is None:
        return f"{says}."
    small, large = results[analysis.smallest], results[analysis.largest]
    assert isinstance(small.spread, RoundedSpread)
    assert isinstance(large.spread, RoundedSpread)
    if small is not large:
        says += f": from {small.name}, {short_figure(small.spread, words)},"
        says += f" to {large.name}, {short_figure(large.spread, words)}"
    else:
        says += f": {large.name}, {short_figure(large.spread, words)}"
    rig = analysis.rig
    return f"{says}; the rig itself, {short_figure(rig.spread, words)}." if rig else f"{says}."
