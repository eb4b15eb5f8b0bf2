"""Is it good enough: the half-width that is needed, held against the tolerance."""

from collections.abc import Iterator, Sequence
from math import isinf

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import MethodResult, Verdict, VerdictWord
from hostctl.report.analysis.told.tables import setting_legend, setting_table
from hostctl.report.analysis.told.words import Words, centre, listed, percent
from hostctl.report.document.blocks import Block, Figure, Heading, Paragraph
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow, Mark
from hostctl.report.sources.material import Goal


def good_enough(analysis: Analysis) -> Iterator[Block]:
    """Nothing without a tolerance."""
    goal = analysis.goal
    if goal is None:
        return
    yield Heading(text="Is it good enough?")
    judged = [result for result in analysis.results if isinstance(result.verdict, Verdict)]
    if judged:
        drawing = IntervalChart(
            rows=tuple(_rows(judged, Words.of(analysis))),
            along="size",
            unit="mm",
            against=Mark(low=None, high=goal.within_mm, label=f"limit ±{goal.within_mm:g} mm"),
        )
        yield Figure(drawing=drawing, says=_seen(judged, goal), name="tolerance")
    yield setting_table(analysis)
    included = "rig included, " if analysis.rig is None and analysis.rig_wanted else ""
    about = f"In mm, {included}± from {centre(analysis.results)}."
    yield Paragraph(text=f"{about} {setting_legend(analysis)}")


def _rows(judged: Sequence[MethodResult], words: Words) -> Iterator[IntervalRow]:
    method = None
    for result in judged:
        verdict = result.verdict
        assert isinstance(verdict, Verdict)
        reach = verdict.half_width
        yield IntervalRow(
            label=result.operator or result.method,
            value=None,
            low=reach.low,
            high=None if isinf(reach.high) else reach.high,
            says=f"{_reach(verdict, words)}: {verdict.verdict}",
            head=result.method if result.operator and result.method != method else "",
        )
        method = result.method


def _reach(verdict: Verdict, words: Words) -> str:
    low, high = verdict.half_width.low, verdict.half_width.high
    by = ", by a count" if verdict.decided_by == "count" else ""
    if isinf(high):
        return f"±{words.mm(low)} mm or more{by}" if low > 0.0 else f"not known{by}"
    between = (
        f"±{words.mm(low)} to ±{words.mm(high)} mm"
        if low > 0.0
        else f"at most ±{words.mm(high)} mm"
    )
    return f"{between}{by}"


def _seen(judged: Sequence[MethodResult], goal: Goal) -> str:
    """Which bars end short of the limit, which begin beyond it, which do neither."""
    groups: dict[str, list[str]] = {}
    for result in judged:
        assert isinstance(result.verdict, Verdict)
        groups.setdefault(_stands(result.verdict), []).append(result.name)
    stand = "; ".join(f"{how}: {listed(groups[how])}" for how in sorted(groups, key=_ORDER.index))
    return (
        f"Bars are where the half-width that holds {percent(goal.proportion)} of settings may lie; "
        f"the line is the limit of ±{goal.within_mm:g} mm. {stand[0].upper()}{stand[1:]}."
    )


def _stands(verdict: Verdict) -> str:
    """How the bar stands to the limit."""
    if verdict.decided_by == "count":
        return _BY_COUNT[verdict.verdict]
    return _WITH_RIG if verdict.beyond_with_rig else _BY_LAW[verdict.verdict]


_BY_LAW: dict[VerdictWord, str] = {
    "meets": "wholly within the limit, which meets it",
    "does not meet": "wholly beyond it, which does not",
    "cannot tell yet": "reaching to both sides of it, so that it cannot be told yet",
}
_WITH_RIG = "beyond it, but with the rig in, so that it cannot be told yet"
_BY_COUNT: dict[VerdictWord, str] = {
    "meets": "not normal, but by a count within the limit",
    "does not meet": "not normal, but by a count beyond the limit",
    "cannot tell yet": "not normal, so only a count can tell, and can't yet",
}
_ORDER = [*_BY_LAW.values(), _WITH_RIG, *_BY_COUNT.values()]
