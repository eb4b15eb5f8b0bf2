"""The formulas with these readings' numbers in them, so that a doubter can do the sums again."""

from collections.abc import Iterator
from math import sqrt
from typing import TYPE_CHECKING

from hostctl.metrology.claim import Centre
from hostctl.metrology.distributions import chi_square_quantile, normal_quantile
from hostctl.metrology.estimate import Estimate, NotYet
from hostctl.metrology.rounding import RoundedSpread
from hostctl.metrology.setting import Setting
from hostctl.report.analysis import Analysis
from hostctl.report.analysis_words import Words, counted, percent
from hostctl.report.judgement import Judged, Result, Rig
from hostctl.report.table import table
from hostctl.report.wrapped import wrapped

if TYPE_CHECKING:
    from hostctl.metrology.anova import AnovaLine
    from hostctl.metrology.crossed import CrossedAnova
    from hostctl.metrology.significance import Significance


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
        yield result.spread.reason
        return
    yield from _ordinary(result.spread, analysis.material.reference, words)
    yield from _fitted(result.spread, words)
    if isinstance(result.setting, Setting) and analysis.rig is not None:
        yield from _rig_out(result.spread, result.setting, analysis.rig, words)
    if isinstance(result.judged, Judged):
        yield from _verdict(result.judged, words)


def _ordinary(spread: RoundedSpread, reference: str, words: Words) -> Iterator[str]:
    """Rounding ignored: what pencil and paper give, for checking."""
    ordinary, df = spread.ordinary, spread.df
    squares = ordinary.value**2 * df
    how_many = f"n = {spread.n} settings in {counted(spread.blocks, 'block')}"
    if reference == "first":
        how_many += ", each block's zero being one"
    yield f"{how_many}; degrees of freedom f = {_df(df)}"
    yield f"sum of squared deviations from block means: S = {squares:.4g} mm²"
    yield f"ordinary s = √(S / f) = √({squares:.4g} / {_df(df)}) = {words.mm(ordinary.value)} mm"
    low, high = (chi_square_quantile(p, df) for p in (0.975, 0.025))
    yield (
        f"  95 %: s √(f / χ²) with χ² = {low:.4g} and {high:.4g}: {words.span(ordinary.interval)}"
        " mm, rounding ignored"
    )


def _fitted(spread: RoundedSpread, words: Words) -> Iterator[str]:
    h = spread.resolution
    yield f"a reading r means r ± {h / 2:.6g} mm; σ that makes these readings likeliest:"
    if isinstance(spread.quoted, Estimate):
        yield f"s = {words.mm(spread.quoted.value)} mm, 95 %: {words.span(spread.interval)} mm"
        if isinstance(spread.sheppard, Estimate):
            yield (
                f"  check (Sheppard): √(s² − h²/12) = √({spread.ordinary.value:.4g}² − "
                f"{h:.4g}²/12) = {words.mm(spread.sheppard.value)} mm"
            )
    else:
        yield f"no more than a bound: s below {words.mm(spread.interval.high)} mm (95 %)"


def _rig_out(spread: RoundedSpread, setting: Setting, rig: Rig, words: Words) -> Iterator[str]:
    if not isinstance(spread.quoted, Estimate):
        yield f"rig out: {setting.says}"
        return
    known = rig.spread.quoted
    rig_s = known.value if isinstance(known, Estimate) else 0.0
    total = spread.quoted.value
    yield (
        f"rig out: √(s² − rig²) = √({words.mm(total)}² − {words.mm(rig_s)}²) = "
        f"{words.mm(setting.value or 0.0)} mm"
    )
    if rig_s > total:
        yield "  (the rig's figure is the larger: taken as 0)"
    v = total**2 - rig_s**2
    up = sqrt((spread.interval.high**2 - total**2) ** 2 + (rig_s**2 - _low(rig) ** 2) ** 2)
    down = sqrt(
        (total**2 - spread.interval.low**2) ** 2 + (rig.spread.interval.high**2 - rig_s**2) ** 2
    )
    yield (
        f"  95 %: √({v:.3g} − {down:.3g}) to √({v:.3g} + {up:.3g}), floored at 0: "
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
        f"{words.span(sigma)} mm" + ("" if judged.rig_out else " (as read)")
    )
    if claim.centre is Centre.LONG_RUN_MEAN:
        yield (
            f"{percent(claim.content)} of a normal law lie within ±{z:.4f} σ: "
            f"±{words.mm(judged.reach.low)} to ±{words.mm(judged.reach.high)} mm"
        )
    else:
        yield (
            f"with the mean off by {words.signed(judged.evidence.bias or 0.0)} mm, "
            f"{percent(claim.content)} lie within ±{words.mm(judged.reach.low)} to "
            f"±{words.mm(judged.reach.high)} mm"
        )
    yield (
        f"tolerance ±{claim.tolerance:g} mm: meets at or above the larger, does not meet below "
        "the smaller"
    )


def _df(df: float) -> str:
    return f"{df:.4g}"
