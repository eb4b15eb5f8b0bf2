"""The formulas with these readings' numbers in them, so that a doubter can do the sums again."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.sample import REPEATABILITY_FACTOR
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import MethodResult, Verdict
from hostctl.report.analysis.result.reckoning import Reckoning, RigOut
from hostctl.report.analysis.told.normal_law import law_explained
from hostctl.report.analysis.told.words import Words, counted, percent
from hostctl.report.document.blocks import Block, Heading, Items
from hostctl.report.document.reasons import reason_words
from hostctl.report.sources.material import Goal


def with_these_numbers(analysis: Analysis) -> Iterator[Block]:
    """For each method and operator: s, its interval, the rig taken out, the verdict."""
    words = Words.of(analysis)
    for place, result in enumerate(analysis.results):
        lines = [*_lines(analysis, result, words), *_of_gap(analysis, place, words)]
        yield Heading(text=result.name, level=2)
        yield Items(items=tuple(lines), bulleted=False)
    yield from _of_tie(analysis, words)
    yield from _of_crossed(analysis)
    yield from _of_means(analysis)


def _of_gap(analysis: Analysis, place: int, words: Words) -> Iterator[str]:
    if analysis.tie is not None and analysis.trueness:
        from hostctl.report.trueness.explained import gap_explained

        yield from gap_explained(analysis.trueness[place], words)


def _of_tie(analysis: Analysis, words: Words) -> Iterator[Block]:
    if analysis.tie is not None:
        from hostctl.report.trueness.explained import tie_explained

        if lines := tuple(tie_explained(analysis.tie, words)):
            yield Heading(text="the tie", level=2)
            yield Items(items=lines, bulleted=False)


def _of_crossed(analysis: Analysis) -> Iterator[Block]:
    for found in analysis.crossed:
        if not isinstance(found.study, NotYet) and not isinstance(found.study.anova, NotYet):
            from hostctl.report.analysis.told.crossed import variance_table

            yield from variance_table(found.method, found.study.anova)


def _of_means(analysis: Analysis) -> Iterator[Block]:
    if analysis.biases:
        from hostctl.report.analysis.told.means import means_explained

        if means := tuple(means_explained(analysis)):
            yield Heading(text="mean settings", level=2)
            yield Items(items=means, bulleted=False)


def _lines(analysis: Analysis, result: MethodResult, words: Words) -> Iterator[str]:
    if isinstance(result.spread, NotYet):
        yield reason_words(result.spread.reason)
        return
    spread, sums = result.spread, result.reckoning
    assert sums is not None  # a spread has one
    how_many = f"n = {counted(spread.n, 'setting')} in {counted(spread.blocks, 'block')}"
    if analysis.source.reference == "first":
        how_many += ", each block's zero being one"
    yield f"{how_many}; degrees of freedom f = {_df(spread.df)}"
    yield from _ordinary(spread, sums, words)
    yield from _fitted(result, spread, sums, words)
    yield law_explained(result)
    if isinstance(result.setting, Setting) and analysis.rig is not None:
        yield from _rig_out(sums.rig_out, result.setting, words)
    if isinstance(result.verdict, Verdict) and analysis.goal is not None:
        yield from _verdict(analysis.goal, result.verdict, words)


def _ordinary(spread: RoundedSpread, sums: Reckoning, words: Words) -> Iterator[str]:
    """Rounding ignored: what pencil and paper give, for checking."""
    s = words.mm(spread.ordinary.value)
    if sums.worth is None:
        yield f"sum of squared deviations from block means: S = {sums.squares_mm2:.4g} mm²"
        yield f"ordinary s = √(S / f) = √({sums.squares_mm2:.4g} / {_df(spread.df)}) = {s} mm"
    else:
        yield (
            "sum of squared deviations of the differences from block means: "
            f"S = {sums.squares_mm2:.4g} mm²; on average it is c σ², σ of one setting, with "
            f"c = Σ 2 (n − 1/n) = {sums.worth:.4g} over blocks of n differences, as neighbours "
            "share a setting"
        )
        yield (
            f"ordinary s = √(S / c) = √({sums.squares_mm2:.4g} / {sums.worth:.4g}) = "
            f"{s} mm; f by Satterthwaite"
        )
    low, high = sums.chi_square
    yield (
        f"  95 %: s √(f / χ²) with χ² = {low:.4g} and {high:.4g}: "
        f"{words.span(spread.ordinary.interval)} mm, rounding ignored"
    )


def _fitted(
    result: MethodResult, spread: RoundedSpread, sums: Reckoning, words: Words
) -> Iterator[str]:
    h, differences = spread.resolution, sums.worth is not None
    of_one = ", over √2" if differences else ""
    yield f"a reading r means r ± {h / 2:.6g} mm; σ that makes these readings likeliest{of_one}:"
    if not isinstance(spread.quoted, Estimate):
        yield f"no more than a bound: s below {words.mm(spread.interval.high)} mm (95 %)"
        return
    yield f"s = {words.mm(spread.quoted.value)} mm, 95 %: {words.span(spread.interval)} mm"
    if isinstance(result.repeatability_limit, Estimate):
        limit = result.repeatability_limit
        yield (
            f"repeatability limit r = {REPEATABILITY_FACTOR} s = {words.mm(limit.value)} mm, 95 %: "
            f"{words.span(limit.interval)} mm; two settings by the same hands differ by less, 95 "
            "times in 100 (ISO 5725-6, 4.1.4)"
        )
    if isinstance(spread.sheppard, Estimate):
        part = 24 if differences else 12
        yield (
            f"  check (Sheppard): √(s² − h²/{part}) = √({spread.ordinary.value:.4g}² − "
            f"{h:.4g}²/{part}) = {words.mm(spread.sheppard.value)} mm"
        )


def _rig_out(found: RigOut | None, setting: Setting, words: Words) -> Iterator[str]:
    if found is None:
        yield f"rig out: {reason_words(setting.says)}"
        return
    yield (
        f"rig out: √(s² − rig²) = √({found.total_mm:.4g}² − {found.rig_mm:.4g}²) = "
        f"{words.mm(setting.value or 0.0)} mm"
    )
    if found.rig_bounded:
        yield "  (of the rig no more than a bound is known; its likeliest figure is 0)"
    if found.rig_larger:
        yield "  (the rig's figure is the larger: taken as 0)"
    yield (
        "  95 %: quantiles of √(both² − rig²), each drawn from its own confidence box, floored at "
        f"0: {words.span(setting.interval)} mm"
    )
    if not setting.distinguishable:
        yield "  the interval reaches 0: not distinguishable from the rig"


def _verdict(goal: Goal, verdict: Verdict, words: Words) -> Iterator[str]:
    if verdict.decided_by == "count":
        yield f"tolerance ±{goal.within_mm:g} mm: {verdict.verdict}, as {reason_words(verdict.why)}"
        return
    sigma, share = verdict.sigma, percent(goal.proportion)
    low, high = words.mm(verdict.half_width.low), words.mm(verdict.half_width.high)
    yield (
        f"one-sided limits of σ, each wrong in at most {percent(verdict.risk)}: "
        f"{sigma.low:.4g} to {sigma.high:.4g} mm" + ("" if verdict.rig_out else " (as read)")
    )
    if verdict.normal_quantile is not None:
        yield (
            f"{share} of a normal law lie within ±{verdict.normal_quantile:.4f} σ: "
            f"±{low} to ±{high} mm"
        )
    else:
        where = f"in the worst block, {verdict.worst_block}, " if verdict.worst_block else ""
        yield (
            f"{where}with the mean of {counted(verdict.n, 'setting')} off by "
            f"{words.signed(verdict.mean_mm or 0.0)} mm, {share} lie within ±{low} to ±{high} mm"
        )
    yield (
        f"tolerance ±{goal.within_mm:g} mm: meets at or above the larger, does not meet below "
        "the smaller"
    )


def _df(df: float) -> str:
    return f"{df:.4g}"
