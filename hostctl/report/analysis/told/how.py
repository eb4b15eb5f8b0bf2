"""How an analysis was worked out: what each kind of figure is, and whose method it is."""

from collections.abc import Iterator
from typing import NamedTuple

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import Verdict
from hostctl.report.analysis.told.normal_law import how_checked
from hostctl.report.analysis.told.words import counted
from hostctl.report.document.blocks import Block, Heading, Items, Paragraph
from hostctl.report.trueness.explained import how_gaps_are_known


class Way(NamedTuple):
    """A kind of figure. says: a sentence.  source: empty where it needs none of its own."""

    says: str
    source: str = ""


_MEAN_OF_BLOCKS = (
    " of one block",
    "Of several blocks: Student's t over their means, wider by what rounding may have moved them "
    "all.",
)
_MEAN_OF_GAPS = (
    "",
    "Of readings that rest on several constants: wider by what rounding may have moved them all.",
)


def worked_out(analysis: Analysis) -> Iterator[Block]:
    """What each kind of figure is, and all sources in one line."""
    ways = tuple(how(analysis))
    if ways:
        yield Heading(text="How it was worked out")
        yield Items(items=tuple(way.says for way in ways))
        sources = dict.fromkeys(way.source for way in ways if way.source)
        yield Paragraph(text=f"Sources: {'; '.join(sources)}.")


def how(analysis: Analysis) -> Iterator[Way]:
    """Spreads, verdicts, comparisons, oddities, gauge studies."""
    yield from _how_spread(analysis)
    if any(isinstance(result.verdict, Verdict) for result in analysis.results):
        yield Way(
            "Verdict: the half-width that holds the share asked for, from one-sided limits of the "
            "setting's standard deviation, settings taken to scatter normally and independently. "
            "Each has a risk of its own, while an interval of s shares one between its ends so "
            "that it is short: the two differ.",
            "ISO 16269-6 (exact factors), NIST/SEMATECH 7.2.6.3",
        )
    yield from _how_compared(analysis)
    yield from _how_biased(analysis)
    yield from (Way(says, source) for says, source in how_checked(analysis.results))
    if analysis.oddities:
        yield Way(
            "Outliers: generalised extreme deviates within blocks. Drift: Mann-Kendall over "
            "blocks. Warm-up: first trials against random orders. Risk of a false alarm: "
            f"5 % for each kind, over {counted(len(analysis.oddities), 'sample')} together.",
            "Rosner 1983, Grubbs 1969; Hirsch, Slack and Smith 1982; Good 2005, Besag and "
            "Clifford 1991",
        )
    if any(not isinstance(crossed.study, NotYet) for crossed in analysis.crossed):
        yield Way(
            "Gauge study: variances of points, operators and repeats, with intervals.",
            "Measurement Systems Analysis, 4th ed., III B; Burdick, Borror and Montgomery 2005",
        )


def _how_spread(analysis: Analysis) -> Iterator[Way]:
    results = analysis.results
    spreads = [result.spread for result in results if isinstance(result.spread, RoundedSpread)]
    figures = [(one.blocks, one.quoted) for one in spreads if isinstance(one.quoted, Estimate)]
    if figures:
        _, most = max(figures, key=lambda pair: pair[0])  # what several blocks add is said
        yield Way(f"s and its interval: {most.how}.", most.source)
    if len(figures) < len(spreads):
        yield Way(
            "s below a bound: the spread at which readings as close become too unlikely, wherever "
            "in a graduation their means lie."
        )
    setting = next((r.setting for r in results if isinstance(r.setting, Setting)), None)
    if setting is not None:
        yield Way(f"Rig out: {setting.how}.", setting.source)


def _how_compared(analysis: Analysis) -> Iterator[Way]:
    found = analysis.compared
    if found is None:
        return
    yield Way(
        "Comparisons: quantiles of the ratio when each spread is drawn from its own confidence "
        "box; far above a graduation that is the F interval. Several pairs share the risk equally "
        "(Bonferroni). As good: two one-sided tests.",
        "ISO 2854:1976; Schuirmann 1987",
    )


def _how_biased(analysis: Analysis) -> Iterator[Way]:
    yield from (Way(says, source) for says, source in how_gaps_are_known(analysis.tie))
    if any(isinstance(result.off, Estimate) for result in analysis.results):
        of_one, of_several = _MEAN_OF_BLOCKS if analysis.tie is None else _MEAN_OF_GAPS
        yield Way(
            f"Mean{of_one}: the likelihood of rounded readings, turned into Student's t and wider "
            f"by half a step of the mean. {of_several}",
            "Student 1908; Widrow, Kollar and Liu 1996",
        )
    if any(not isinstance(bias.found, NotYet) for bias in analysis.biases):
        alike = "As high" if analysis.tie is None else "As wide"
        high = "" if analysis.goal is None else f" {alike}: two one-sided tests."
        yield Way(
            "Means compared: quantiles of the difference when each mean is drawn from its own "
            "confidence box; far above a graduation that is the interval of Behrens and Fisher, "
            "of a single mean that of Student. Several pairs share the risk equally "
            f"(Bonferroni).{high}",
            "Fisher 1935; Schuirmann 1987",
        )
