"""Does one do better than another: spreads, mean settings and workshops held against each other."""

from collections.abc import Iterator
from math import isinf
from typing import TypeVar

from hostctl.metrology.comparison.spread_ratio import SpreadRatio
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.comparison import Compared, Comparison
from hostctl.report.analysis.result.means import Bias, Difference
from hostctl.report.analysis.told.compared import pairs_of_spreads, ratio_band
from hostctl.report.analysis.told.means import difference_band, pairs_of_means
from hostctl.report.analysis.told.words import Words, counted, listed, whose
from hostctl.report.document.blocks import Block, Figure, Heading
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow, Mark

Pair = TypeVar("Pair", Comparison, Bias)

_MOST_NAMED = 4
MOST_BARS = 40
"""Of a figure; of more pairs it has those that are told apart, or shown to be alike."""


def one_against_another(analysis: Analysis) -> Iterator[Block]:
    """Nothing of a single one."""
    if analysis.compared is not None:
        yield Heading(text="Does one scatter less than another?")
        yield from _figure_of_spreads(analysis.compared)
        yield from pairs_of_spreads(analysis.compared)
    if analysis.biases:
        more = "higher" if analysis.tie is None else "wider"
        yield Heading(text=f"Does one set {more} than another?")
        yield from _figure_of_means(analysis)
        yield from pairs_of_means(analysis)


def _figure_of_spreads(found: Compared) -> Iterator[Figure]:
    pairs = [pair for pair in found.pairs if isinstance(pair.found, SpreadRatio)]
    if not pairs:
        return
    shown = _drawn(pairs)
    drawing = IntervalChart(
        rows=tuple(_ratios(shown)),
        along="ratio",
        unit="",
        against=Mark(
            low=1.0 / found.margin,
            high=found.margin,
            label=f"as good: within a factor {found.margin:g}",
        ),
    )
    says = f"{_seen(pairs, found.margin)}{_only(len(shown), len(pairs))}"
    yield Figure(drawing=drawing, says=says, name="comparison")


def _drawn(pairs: list[Pair]) -> list[Pair]:
    """All of them, or where they are too many those that are told apart or shown alike."""
    if len(pairs) <= MOST_BARS:
        return pairs
    told = [pair for pair in pairs if pair.standing != "cannot tell"]
    return (told or pairs)[:MOST_BARS]


def _only(shown: int, of: int) -> str:
    return "" if shown == of else f" Drawn are {shown} of {of} pairs."


def _ratios(pairs: list[Comparison]) -> Iterator[IntervalRow]:
    last = ""
    for pair in pairs:
        assert isinstance(pair.found, SpreadRatio)
        head, band = whose(pair.varied, pair.fixed), pair.found.interval
        value = pair.found.value
        yield IntervalRow(
            label=f"{pair.first} / {pair.second}",
            value=value,
            low=band.low if band.low > 0.0 else None,
            high=None if isinf(band.high) else band.high,
            says=ratio_band(band) if value is None else f"{value:.2f} ({ratio_band(band)})",
            head="" if head == last else head,
        )
        last = head


def _seen(pairs: list[Comparison], margin: float) -> str:
    """How many keep clear of 1, and which; how many stay within the margin."""
    apart = [pair for pair in pairs if pair.standing in ("larger", "smaller")]
    alike = [pair for pair in pairs if pair.standing == "alike"]
    bars = "Bars are where the true ratio of two spreads may lie, 1 being alike"
    if not apart:
        clear = f"none of {counted(len(pairs), 'bar')} keeps clear of 1"
    else:
        clear = f"clear of 1, so that they differ beyond chance: {_some([*map(_two, apart)])}"
    says = f"{bars}; {clear}"
    if alike:
        says += f"; shown to be within a factor {margin:g}: {_some([*map(_two, alike)])}"
    return f"{says}."


def _two(pair: Comparison) -> str:
    how = {"larger": "more than", "smaller": "less than"}.get(pair.standing, "and")
    return f"{pair.first} {how} {pair.second} {whose(pair.varied, pair.fixed)}"


def _some(names: list[str]) -> str:
    if len(names) <= _MOST_NAMED:
        return listed(names)
    return f"{'; '.join(names[:_MOST_NAMED])}; and {len(names) - _MOST_NAMED} more"


def _figure_of_means(analysis: Analysis) -> Iterator[Figure]:
    pairs = [pair for pair in analysis.biases if isinstance(pair.found, Difference)]
    if not pairs:
        return
    goal = analysis.goal
    against = None
    if goal is not None:
        label = f"as high: within {goal.within_mm:g} mm"
        against = Mark(low=-goal.within_mm, high=goal.within_mm, label=label)
    shown = _drawn(pairs)
    drawing = IntervalChart(
        rows=tuple(_differences(shown, Words.of(analysis))),
        along="difference",
        unit="mm",
        against=against,
    )
    says = f"{_means_seen(pairs)}{_only(len(shown), len(pairs))}"
    yield Figure(drawing=drawing, says=says, name="means")


def _differences(pairs: list[Bias], words: Words) -> Iterator[IntervalRow]:
    last = ""
    for pair in pairs:
        assert isinstance(pair.found, Difference)
        head, band = whose(pair.varied, pair.fixed), pair.found.judged.interval
        yield IntervalRow(
            label=f"{pair.first} − {pair.second}",
            value=pair.found.value,
            low=None if isinf(band.low) else band.low,
            high=None if isinf(band.high) else band.high,
            says=f"{words.signed(pair.found.value)} mm ({difference_band(pair.found, words)})",
            head="" if head == last else head,
        )
        last = head


def _means_seen(pairs: list[Bias]) -> str:
    apart = [
        f"{pair.first} {pair.standing} than {pair.second} {whose(pair.varied, pair.fixed)}"
        for pair in pairs
        if pair.standing in ("higher", "lower")
    ]
    bars = "Bars are where the true difference of two mean settings may lie"
    if not apart:
        return f"{bars}; none of {counted(len(pairs), 'bar')} keeps clear of 0."
    return f"{bars}; clear of 0, so that they differ beyond chance: {_some(apart)}."
