"""Spreads compared: a table of pairs, how to read it, and whether hands matter."""

from collections.abc import Iterator
from itertools import groupby
from math import isinf

from hostctl.metrology.basis.estimate import Interval, NotYet
from hostctl.metrology.comparison.interaction import RatioOfRatios
from hostctl.metrology.comparison.spread_ratio import SpreadRatio
from hostctl.report.analysis.result.comparison import (
    Compared,
    Comparison,
    Hands,
    Matter,
    SpreadStanding,
)
from hostctl.report.analysis.told.words import counted, listed, p_cell, whose
from hostctl.report.document.blocks import Block, Column, Heading, Items, Table
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import TO

_STANDING: dict[SpreadStanding, str] = {
    "larger": "scatters more",
    "smaller": "scatters less",
    "alike": "as good",
    "cannot tell": "cannot tell yet",
}
_WORTH_SAYING = 1.01
_MATTER: dict[Matter, str] = {
    "yes": "so hands matter",
    "no": "so hands make no difference that counts",
    "cannot tell yet": "so whether hands matter cannot be told yet",
}
_OVER_ALL: dict[Matter, str] = {
    "yes": "depends on whose hands",
    "no": "does not depend on whose hands by as much as counts",
    "cannot tell yet": "is not shown to depend on whose hands, nor shown not to",
}


def spreads_compared(found: Compared | None) -> Iterator[Block]:
    """Nothing where there is a single one."""
    if found is not None:
        yield Heading(text="Spreads compared")
        yield from pairs_of_spreads(found)


def pairs_of_spreads(found: Compared) -> Iterator[Block]:
    """The table and what follows from it."""
    yield _table(found)
    yield Items(items=(*differing(found), *_notes(found), *_hands_sentences(found)))


def _table(found: Compared) -> Table:
    """Each pair: the ratio of spreads, its interval and p, and how the first stands."""
    rows: list[tuple[str, ...]] = []
    for varied, pairs in groupby(found.pairs, key=lambda pair: (pair.varied, pair.fixed)):
        rows += [(f"{whose(*varied)}:",), *map(_row, pairs)]
    return Table(
        columns=(
            Column(head="first / second"),
            Column(head="ratio", is_number=True),
            Column(head="95 %, all pairs", is_number=True),
            Column(head="p", is_number=True),
            Column(head="the first"),
        ),
        rows=tuple(rows),
    )


def _row(pair: Comparison) -> tuple[str, ...]:
    name = f"{pair.first} / {pair.second}"
    if isinstance(pair.found, NotYet):
        return name, "", "", "", "cannot tell yet"
    ratio = "" if pair.found.value is None else f"{pair.found.value:.2f}"
    band = ratio_band(pair.found.interval)
    return name, ratio, band, p_cell(pair.found.p_value), _standing(pair)


def _standing(pair: Comparison) -> str:
    both = isinstance(pair.found, SpreadRatio) and pair.found.differs and pair.found.as_good
    return f"{_STANDING[pair.standing]}, yet as good" if both else _STANDING[pair.standing]


def differing(found: Compared) -> Iterator[str]:
    """By how much at least, of each pair that differs and has no more than one limit."""
    for pair in found.pairs:
        if isinstance(pair.found, NotYet) or not pair.found.differs:
            continue
        low, high = pair.found.interval.low, pair.found.interval.high
        if low == 0.0 and 1.0 / high >= _WORTH_SAYING:
            yield f"{_two(pair, 'less')}, by at least a factor {_down(1.0 / high)}."
        elif isinf(high) and low >= _WORTH_SAYING:
            yield f"{_two(pair, 'more')}, by at least a factor {_down(low)}."


def _two(pair: Comparison, how: str) -> str:
    return f"{pair.first} scatters {how} than {pair.second} {whose(pair.varied, pair.fixed)}"


def _down(factor: float) -> str:
    """Rounded down, as it is the least."""
    return f"{int(factor * 100) / 100:.3g}"


def ratio_band(interval: Interval) -> str:
    """An interval of a ratio; an open end makes it one-sided."""
    if isinf(interval.high):
        return f"above {interval.low:.2f}" if interval.low > 0.0 else "open"
    if interval.low == 0.0:
        return f"below {interval.high:.2f}"
    return f"{interval.low:.2f}{TO}{interval.high:.2f}"


def _notes(found: Compared) -> Iterator[str]:
    """How to read the table."""
    known = [pair.found for pair in found.pairs if isinstance(pair.found, SpreadRatio)]
    of_what = (
        "Ratios are of settings, the rig taken out of both where it can be."
        if any(one.rig_out for one in known)
        else "Ratios are of what was read, rig included: the settings themselves differ by more, "
        "and what is as good here need not be without it."
    )
    yield (
        "p: the chance of a difference at least as large, if the two scatter alike. Interval and "
        "p allow for all pairs of their kind being compared, and say the same: the interval leaves "
        "out 1 exactly where p is below 0.05. "
        f"As good: within a factor {found.margin:g} of each other, allowing for all pairs too. "
        f"{of_what}"
    )
    if any(one.value is None for one in known):
        yield (
            "Where no ratio stands, one of the two is no more than a bound: its readings are too "
            "much alike for the indicator, or it is not told apart from the rig."
        )
    missing = (pair.found.reason for pair in found.pairs if isinstance(pair.found, NotYet))
    yield from (
        f"Where a row is empty: {why}." for why in dict.fromkeys(map(reason_words, missing))
    )


def _hands_sentences(found: Compared) -> Iterator[str]:
    """Whether which method is better depends on whose hands: stated, denied, or left open."""
    for hands in found.hands:
        yield _hands_sentence(hands, found.margin)
    if found.hands_matter is not None and len(found.hands) > 1:
        yield f"Over all methods, how they compare {_OVER_ALL[found.hands_matter]}."


def _hands_sentence(hands: Hands, margin: float) -> str:
    by_standing: dict[SpreadStanding, list[str]] = {}
    for one in hands.standings:
        by_standing.setdefault(one.standing, []).append(one.operator)
    said = "; ".join(
        f"{_STANDING[standing]} in the hands of {listed(operators)}"
        for standing, operators in by_standing.items()
    )
    ratios = listed([_between(pair) for pair in hands.pairs])
    many = hands.pairs[0].compared
    allowing = f", allowing for {counted(many, 'such ratio')}" if many > 1 else ""
    return (
        f"{hands.method} against {hands.baseline}: {said}. The ratio of their spreads, rig "
        f"included, is {ratios}{allowing}, {_MATTER[hands.matter]} (what counts: a factor "
        f"{margin:g})."
    )


def _between(pair: RatioOfRatios) -> str:
    value = "" if pair.value is None else f"{pair.value:.2f} times "
    return f"{value}as large for {pair.first} as for {pair.second} ({ratio_band(pair.interval)})"
