"""Spreads compared: a table of pairs, how to read it, and whether hands matter."""

from collections.abc import Iterator
from itertools import groupby

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.significance import Significance
from hostctl.report.analysis.result.comparison import (
    Compared,
    Comparison,
    Hands,
    HandsMatter,
    InTheseHands,
    SpreadStanding,
)
from hostctl.report.analysis.told.words import TO, listed, p_cell, p_value, whose
from hostctl.report.document.blocks import Block, Column, Heading, Items, Table
from hostctl.report.document.reasons import reason_words

_STANDING: dict[SpreadStanding, str] = {
    "larger": "scatters more",
    "smaller": "scatters less",
    "alike": "as good",
    "cannot tell": "cannot tell yet",
}
_VERDICT = {
    "yes": "so hands matter",
    "no": "so hands make no difference that counts",
    "cannot tell yet": "so whether hands matter cannot be told yet",
}


def spreads_compared(found: Compared | None) -> Iterator[Block]:
    """Nothing where there is a single one."""
    if found is not None:
        yield Heading(text="Spreads compared")
        yield _table(found)
        yield Items(items=(*_notes(found), *_hands_sentences(found)))


def _table(found: Compared) -> Table:
    """Each pair: the ratio of spreads, the adjusted p, and how the first stands."""
    rows: list[tuple[str, ...]] = []
    for varied, pairs in groupby(found.pairs, key=lambda pair: (pair.varied, pair.fixed)):
        rows += [(f"{whose(*varied)}:",), *map(_row, pairs)]
    return Table(
        columns=(
            Column(head="first / second"),
            Column(head="ratio", is_number=True),
            Column(head="95 % of it", is_number=True),
            Column(head="p", is_number=True),
            Column(head="the first"),
        ),
        rows=tuple(rows),
    )


def _row(pair: Comparison) -> tuple[str, ...]:
    ratio, band = "", "only a bound"
    if not isinstance(pair.ratio, NotYet):
        ratio, band = f"{pair.ratio.value:.2f}", f"{pair.ratio.low:.2f}{TO}{pair.ratio.high:.2f}"
    p = "" if isinstance(pair.adjusted_p, NotYet) else p_cell(pair.adjusted_p)
    return f"{pair.first} / {pair.second}", ratio, band, p, _STANDING[pair.standing]


def _notes(found: Compared) -> Iterator[str]:
    """How to read the table."""
    yield (
        "p: that the two scatter alike, allowing (Holm) for there being several of its kind. "
        f"As good: surely within a factor {found.margin:g} of each other. Each interval is for its "
        "ratio alone. Ratios are of what was read, rig included, so the settings themselves differ "
        "by more."
    )
    missing = (pair.test.reason for pair in found.pairs if isinstance(pair.test, NotYet))
    yield from (f"Where p is missing: {why}." for why in dict.fromkeys(map(reason_words, missing)))


def _hands_sentences(found: Compared) -> Iterator[str]:
    """Whether which method is better depends on whose hands: stated, denied, or left open."""
    for hands in found.hands:
        yield _hands_sentence(hands, found.margin)
    if isinstance(found.test, Significance):
        differs = found.hands_differ
        says = "depends on whose hands" if differs else "is not shown to depend on whose hands"
        yield f"Over all methods, how they compare {says} ({p_value(found.test.p_value)})."
    elif isinstance(found.test, NotYet):
        yield f"Over all methods no test of that could be made: {reason_words(found.test.reason)}."


def _hands_sentence(hands: Hands, margin: float) -> str:
    two = f"{hands.method} against {hands.baseline}"
    if isinstance(hands.found, NotYet) or hands.matter is None:
        why = reason_words(hands.found.reason) if isinstance(hands.found, NotYet) else ""
        return f"{two}: cannot tell yet, {why}."
    by_standing: dict[SpreadStanding, list[InTheseHands]] = {}
    for one in hands.standings:
        by_standing.setdefault(one.standing, []).append(one)
    said = "; ".join(
        f"{_STANDING[standing]} in the hands of {listed([_ratio(one) for one in ones])}"
        for standing, ones in by_standing.items()
    )
    return f"{two} (as good: within a factor {margin:g}): {said}. {_matter(hands.matter)}"


def _ratio(one: InTheseHands) -> str:
    ratio = one.ratio
    return f"{one.operator} (ratio {ratio.value:.2f}, {ratio.low:.2f} to {ratio.high:.2f})"


def _matter(matter: HandsMatter) -> str:
    pair, estimate = matter.between, matter.between.estimate
    return (
        f"The ratio is {estimate.value:.2f} times as large for {pair.first} as for {pair.second} "
        f"({estimate.low:.2f} to {estimate.high:.2f}), {_VERDICT[matter.verdict]}."
    )
