"""The formulas with these readings' numbers in them, so that a doubter can do the sums again."""

from collections.abc import Iterator
from math import sqrt
from typing import TYPE_CHECKING

from hostctl.metrology.basis.distributions import chi_square_quantile, normal_quantile
from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reference import Reference, settings_of, spread_freedom
from hostctl.metrology.claims.claim import Centre
from hostctl.metrology.rounded.cutoffs import likelihood_power
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.sample import REPEATABILITY_FACTOR, repeatability_limit
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.analysis import Analysis
from hostctl.report.analysis.bias_text import bias_explained
from hostctl.report.analysis.judgement import Judged, Result, Rig
from hostctl.report.analysis.words import Words, counted, percent
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.table import table
from hostctl.report.document.wrapped import wrapped

if TYPE_CHECKING:
    from hostctl.metrology.basis.significance import Significance
    from hostctl.metrology.components.anova import AnovaLine
    from hostctl.metrology.components.crossed import CrossedAnova


def explained(analysis: Analysis) -> str:
    """For each method and operator: s, its interval, the rig taken out, the verdict."""
    words = Words.of(analysis)
    parts = [
        f"{result.name}\n"
        + "\n".join(wrapped(line, first="  ") for line in _lines(analysis, result, words))
        for result in analysis.results
    ]
    parts += [
        _gauge_study(found.method, found.study.anova)
        for found in analysis.crossed
        if not isinstance(found.study, NotYet) and not isinstance(found.study.anova, NotYet)
    ]
    if analysis.biases:
        lines = (wrapped(line, first="  ") for line in bias_explained(analysis))
        parts.append("\n".join(["mean settings", *lines]))
    return "\n\n".join(parts)


def _gauge_study(method: str, anova: "CrossedAnova") -> str:
    """The analysis of variance that the gauge study's components come from."""
    rows: list[tuple[str, AnovaLine, Significance | NotYet | None]] = [
        ("points", anova.part, anova.test(anova.part)),
        ("operators", anova.operator, anova.test(anova.operator)),
        ("operators x points", anova.interaction, anova.interaction_test),
        ("repeatability", anova.repeatability, None),
    ]
    if anova.pooled:
        rows.append(("the last two pooled", anova.error, None))
    cells = [
        [name, str(line.df), f"{line.ss:.4g}", f"{line.ms:.4g}", *_f_cells(test)]
        for name, line, test in rows
    ]
    below = "the pooled line" if anova.pooled else "operators x points"
    trials = "trial" if anova.trials == 1 else "trials"
    how = (
        f"{anova.trials} {trials} a cell. F of points and operators is against {below}, F of "
        "operators x points against repeatability. Components: differences of such mean squares "
        "over the readings that each mean rests on, floored at zero."
    )
    heads = ("analysis of variance", "df", "SS, mm²", "MS, mm²", "F", "p")
    drawn = table(heads, cells, right=range(1, 6))
    return f"{method}, points, operators and trials\n{drawn}\n{wrapped(how, first='  ')}"


def _f_cells(test: "Significance | NotYet | None") -> tuple[str, str]:
    if test is None or isinstance(test, NotYet):
        return "", ""
    return f"{test.statistic:.4g}", f"{test.p_value:.2g}" if test.p_value >= 0.001 else "< 0.001"


def _lines(analysis: Analysis, result: Result, words: Words) -> Iterator[str]:
    if isinstance(result.spread, NotYet):
        yield reason_words(result.spread.reason)
        return
    reference = analysis.material.reference
    how_many = f"n = {counted(result.spread.n, 'setting')} in "
    how_many += counted(result.spread.blocks, "block")
    if reference == "first":
        how_many += ", each block's zero being one"
    yield f"{how_many}; degrees of freedom f = {_df(result.spread.df)}"
    if reference == "previous":
        yield from _ordinary_of_differences(result, result.spread, words)
    else:
        yield from _ordinary(result.spread, words)
    yield from _chi_square(result.spread, words)
    yield from _fitted(result, result.spread, reference, words)
    if isinstance(result.setting, Setting) and analysis.rig is not None:
        yield from _rig_out(result.spread, result.setting, analysis.rig, words)
    if isinstance(result.judged, Judged):
        yield from _verdict(result.judged, words)


def _ordinary(spread: RoundedSpread, words: Words) -> Iterator[str]:
    """Rounding ignored: what pencil and paper give, for checking."""
    df, value = spread.df, spread.ordinary.value
    squares = value**2 * df
    yield f"sum of squared deviations from block means: S = {squares:.4g} mm²"
    yield f"ordinary s = √(S / f) = √({squares:.4g} / {_df(df)}) = {words.mm(value)} mm"


def _ordinary_of_differences(result: Result, spread: RoundedSpread, words: Words) -> Iterator[str]:
    """The same where n readings of a block are differences: S is 2 (n - 1/n) σ² on average."""
    sizes = [len(values) for values in result.values if len(values) > 1]
    worth = 2.0 * sum(n - 1.0 / n for n in sizes)
    squares = spread.ordinary.value**2 * worth
    yield (
        "sum of squared deviations of the differences from block means: "
        f"S = {squares:.4g} mm²; on average it is c σ², σ of one setting, with c = Σ 2 (n − 1/n) = "
        f"{worth:.4g} over blocks of n differences, as neighbours share a setting"
    )
    yield (
        f"ordinary s = √(S / c) = √({squares:.4g} / {worth:.4g}) = "
        f"{words.mm(spread.ordinary.value)} mm; f by Satterthwaite"
    )


def _chi_square(spread: RoundedSpread, words: Words) -> Iterator[str]:
    low, high = (chi_square_quantile(p, spread.df) for p in (0.975, 0.025))
    yield (
        f"  95 %: s √(f / χ²) with χ² = {low:.4g} and {high:.4g}: "
        f"{words.span(spread.ordinary.interval)} mm, rounding ignored"
    )


def _fitted(
    result: Result, spread: RoundedSpread, reference: Reference, words: Words
) -> Iterator[str]:
    h, differences = spread.resolution, reference == "previous"
    of_one = ", over √2" if differences else ""
    of_one += _divisor(result, reference) if isinstance(spread.quoted, Estimate) else ""
    yield f"a reading r means r ± {h / 2:.6g} mm; σ that makes these readings likeliest{of_one}:"
    if isinstance(spread.quoted, Estimate):
        yield f"s = {words.mm(spread.quoted.value)} mm, 95 %: {words.span(spread.interval)} mm"
        limit = repeatability_limit(spread.quoted)
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
    else:
        yield f"no more than a bound: s below {words.mm(spread.interval.high)} mm (95 %)"


def _divisor(result: Result, reference: Reference) -> str:
    """What brings the likeliest sigma to the divisor of an ordinary s; nothing over blocks."""
    sizes = [len(settings_of(values, reference)) for values in result.values]
    freedom = spread_freedom([size for size in sizes if size > 1], reference)
    power = likelihood_power(freedom, sum(size > 1 for size in sizes))
    divisor = freedom.scale * freedom.df
    return "" if divisor == power else f", times √({power} / {divisor:.4g}) as an ordinary s has it"


def _rig_out(spread: RoundedSpread, setting: Setting, rig: Rig, words: Words) -> Iterator[str]:
    if not isinstance(spread.quoted, Estimate):
        yield f"rig out: {reason_words(setting.says)}"
        return
    known = rig.spread.quoted
    rig_s = known.value if isinstance(known, Estimate) else 0.0
    total = spread.quoted.value
    yield (
        f"rig out: √(s² − rig²) = √({total:.4g}² − {rig_s:.4g}²) = "
        f"{words.mm(setting.value or 0.0)} mm"
    )
    if not isinstance(known, Estimate):
        yield "  (of the rig no more than a bound is known; its likeliest figure is 0)"
    if rig_s > total:
        yield "  (the rig's figure is the larger: taken as 0)"
    v = total**2 - rig_s**2
    up = sqrt((spread.interval.high**2 - total**2) ** 2 + (rig_s**2 - _low(rig) ** 2) ** 2)
    down = sqrt(
        (total**2 - spread.interval.low**2) ** 2 + (rig.spread.interval.high**2 - rig_s**2) ** 2
    )
    yield (
        f"  95 %: √({v:.4g} − {down:.4g}) to √({v:.4g} + {up:.4g}), floored at 0: "
        f"{words.span(setting.interval)} mm"
    )
    if not setting.distinguishable:
        yield "  the interval reaches 0: not distinguishable from the rig"


def _low(rig: Rig) -> float:
    return rig.spread.interval.low if isinstance(rig.spread.quoted, Estimate) else 0.0


def _verdict(judged: Judged, words: Words) -> Iterator[str]:
    claim, sigma = judged.claim, judged.evidence.sigma
    z = normal_quantile((1 + claim.content) / 2)
    yield (
        f"one-sided limits of σ, each wrong in at most {percent(judged.evidence.tail)}: "
        f"{sigma.low:.4g} to {sigma.high:.4g} mm" + ("" if judged.rig_out else " (as read)")
    )
    if claim.centre is Centre.LONG_RUN_MEAN:
        yield (
            f"{percent(claim.content)} of a normal law lie within ±{z:.4f} σ: "
            f"±{words.mm(judged.reach.low)} to ±{words.mm(judged.reach.high)} mm"
        )
    else:
        n = counted(judged.evidence.n, "setting")
        where = f"in the worst block, {judged.worst}, " if judged.worst else ""
        yield (
            f"{where}with the mean of {n} off by {words.signed(judged.evidence.bias or 0.0)} mm, "
            f"{percent(claim.content)} lie within ±{words.mm(judged.reach.low)} to "
            f"±{words.mm(judged.reach.high)} mm"
        )
    yield (
        f"tolerance ±{claim.tolerance:g} mm: meets at or above the larger, does not meet below "
        "the smaller"
    )


def _df(df: float) -> str:
    return f"{df:.4g}"
