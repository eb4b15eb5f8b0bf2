"""How an analysis was worked out: what each kind of figure is, and whose method it is."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import Verdict
from hostctl.report.analysis.told.normal_law import how_checked
from hostctl.report.analysis.told.words import counted, listed


def how(analysis: Analysis) -> Iterator[str]:
    """Sentences: spreads, verdicts, comparisons, oddities, gauge studies."""
    yield from _how_spread(analysis)
    if any(isinstance(result.verdict, Verdict) for result in analysis.results):
        yield (
            "Verdict: the half-width that holds the share asked for, from one-sided limits of the "
            "setting's standard deviation. ISO 16269-6 (exact factors), NIST/SEMATECH 7.2.6.3."
        )
    yield from _how_compared(analysis)
    yield from _how_biased(analysis)
    yield from how_checked(analysis.results)
    if analysis.oddities:
        yield (
            "Outliers: generalised extreme deviates within blocks (Rosner 1983; Grubbs 1969). "
            "Drift: Mann-Kendall over blocks (Hirsch, Slack and Smith 1982). Warm-up: first trials "
            "against random orders (Good 2005; Besag and Clifford 1991). Risk of a false alarm: "
            f"5 % for each kind, over {counted(len(analysis.oddities), 'sample')} together."
        )
    if any(not isinstance(crossed.study, NotYet) for crossed in analysis.crossed):
        yield (
            "Gauge study: Measurement Systems Analysis, 4th ed., III B; intervals by Burdick, "
            "Borror and Montgomery 2005."
        )


def _how_spread(analysis: Analysis) -> Iterator[str]:
    results = analysis.results
    spreads = [result.spread for result in results if isinstance(result.spread, RoundedSpread)]
    figures = [(one.blocks, one.quoted) for one in spreads if isinstance(one.quoted, Estimate)]
    if figures:
        _, most = max(figures, key=lambda pair: pair[0])  # what several blocks add is said
        yield f"s and its interval: {most.how}. {most.source}."
    if len(figures) < len(spreads):
        yield (
            "s below a bound: the spread at which readings as close become too unlikely, wherever "
            "in a graduation their means lie."
        )
    setting = next((r.setting for r in results if isinstance(r.setting, Setting)), None)
    if setting is not None:
        yield f"Rig out: {setting.how}. {setting.source}."


def _how_compared(analysis: Analysis) -> Iterator[str]:
    found = analysis.compared
    if found is None:
        return
    yield (
        "Comparisons: quantiles of the ratio when each spread is drawn from its own confidence "
        "box; far above a graduation that is the F interval of ISO 2854:1976. Several pairs share "
        "the risk equally (Bonferroni). As good: two one-sided tests (Schuirmann 1987)."
    )


def _how_biased(analysis: Analysis) -> Iterator[str]:
    tests = [bias.found.test for bias in analysis.biases if not isinstance(bias.found, NotYet)]
    whose = dict.fromkeys(f"{test.how} ({test.source})" for test in tests)
    if whose:
        high = "" if analysis.goal is None else " As high: two one-sided t tests (Schuirmann 1987)."
        yield f"Means: {listed(list(whose))}, adjusted by Holm 1979.{high}"
