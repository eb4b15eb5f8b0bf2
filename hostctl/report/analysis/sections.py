"""Comparisons, oddities and crossed studies in words and small tables."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reference import settings_of
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.oddities.block_order import BlockDrift, Neighbours
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.analysis import Analysis
from hostctl.report.analysis.oddities import ALPHA, Oddities, quoted
from hostctl.report.analysis.words import TO, Words, listed, p_cell, p_value, whose
from hostctl.report.document.reasons import reason_words, warm_up_words
from hostctl.report.document.table import table
from hostctl.report.document.wrapped import wrapped

if TYPE_CHECKING:
    from hostctl.report.analysis.comparison import Compared, Comparison, Hands
    from hostctl.report.analysis.crossed_study import Crossed

_STANDING = {
    "larger": "scatters more",
    "smaller": "scatters less",
    "alike": "as good",
    "cannot tell": "cannot tell yet",
}


def comparison_table(found: "Compared") -> str:
    """Each pair: the ratio of spreads, the adjusted p, and how the first stands."""
    heads = ["first / second", "ratio", "95 % of it", "p", "the first"]
    rows: list[list[str]] = []
    for varied, pairs in groupby(found.pairs, key=lambda pair: (pair.varied, pair.fixed)):
        rows += [[f"{whose(*varied)}:", "", "", "", ""], *map(_comparison_row, pairs)]
    return table(heads, rows, right={1, 2, 3})


def _comparison_row(pair: "Comparison") -> list[str]:
    row = [f"  {pair.first} / {pair.second}"]
    if isinstance(pair.ratio, NotYet):
        row += ["", "only a bound"]
    else:
        row += [f"{pair.ratio.value:.2f}", f"{pair.ratio.low:.2f}{TO}{pair.ratio.high:.2f}"]
    p = pair.adjusted_p
    row.append("" if isinstance(p, NotYet) else p_cell(p))
    return [*row, _STANDING[pair.standing]]


def hands_sentences(found: "Compared") -> Iterator[str]:
    """Whether which method is better depends on whose hands: stated, denied, or left open."""
    for hands in found.hands:
        yield _hands_sentence(hands, found)
    if isinstance(found.test, Significance):
        differs = found.test.p_value <= ALPHA
        says = "depends on whose hands" if differs else "is not shown to depend on whose hands"
        yield f"Over all methods, how they compare {says} ({p_value(found.test.p_value)})."
    elif isinstance(found.test, NotYet):
        yield f"Over all methods no test of that could be made: {reason_words(found.test.reason)}."


def _hands_sentence(hands: "Hands", found: "Compared") -> str:
    if isinstance(hands.found, NotYet):
        why = reason_words(hands.found.reason)
        return f"{hands.method} against {hands.baseline}: cannot tell yet, {why}."
    by_standing: dict[str, list[str]] = {}
    for one in hands.found.by_operator:
        ratio = f"{one.ratio.value:.2f}, {one.ratio.low:.2f} to {one.ratio.high:.2f}"
        by_standing.setdefault(_stands(hands, found, one.operator), []).append(
            f"{one.operator} (ratio {ratio})"
        )
    said = "; ".join(f"{what} in the hands of {listed(who)}" for what, who in by_standing.items())
    differs = [pair for pair in hands.found.pairs if pair.differs]
    pair = (differs or list(hands.found.pairs))[0]
    span = f"{pair.estimate.low:.2f} to {pair.estimate.high:.2f}"
    between = (
        f"the ratio is {pair.estimate.value:.2f} times as large for {pair.first} as for "
        f"{pair.second} ({span})"
    )
    small = pair.estimate.high <= found.margin and pair.estimate.low >= 1 / found.margin
    verdict = (
        "so hands make no difference that counts"
        if small
        else "so hands matter"
        if differs
        else "so whether hands matter cannot be told yet"
    )
    return (
        f"{hands.method} against {hands.baseline} (as good: within a factor {found.margin:g}): "
        f"{said}. {between[0].upper()}{between[1:]}, {verdict}."
    )


def _stands(hands: "Hands", found: "Compared", operator: str) -> str:
    """How the method stands to the baseline in these hands, as the table has it."""
    both = {hands.method, hands.baseline}
    for pair in found.pairs:
        if (pair.varied, pair.fixed) == ("method", operator) and {pair.first, pair.second} == both:
            opposite = {"larger": "smaller", "smaller": "larger"}
            standing = pair.standing
            if pair.first == hands.baseline:
                return _STANDING[opposite.get(standing, standing)]
            return _STANDING[standing]
    return _STANDING["cannot tell"]


def oddity_sentences(analysis: Analysis) -> Iterator[str]:
    """What does not look like chance, with and without; or that nothing does."""
    words = Words.of(analysis)
    loud = [found for found in analysis.oddities if not found.is_quiet]
    for found in loud:
        yield from _outliers(analysis, found, words)
        yield from _order(found, words)
    if not loud and analysis.oddities:
        yield "No outlier, drift, likeness of neighbours or warm-up was seen."
    bounded = [found for found in analysis.oddities if quoted(found.result.spread) is None]
    if bounded:
        names = listed([found.result.name for found in bounded])
        yield f"Outliers can't be told where readings fall on one or two graduations: {names}."


def _outliers(analysis: Analysis, found: Oddities, words: Words) -> Iterator[str]:
    if not found.outliers:
        return
    named = []
    for one in found.outliers:
        block = found.result.blocks[one.block]
        value = settings_of(block.values_mm, analysis.material.reference)[one.place]
        has_zero = analysis.material.reference == "first"
        zero = has_zero and one.place == 0
        which = "its zero" if zero else f"reading {one.place + (0 if has_zero else 1)}"
        point = f" at {block.point}" if block.point else ""
        named.append(f"{words.signed(float(value))} mm ({which}, block {one.block + 1}{point})")
    with_it = _spread(found.result.spread, words)
    yield (
        f"{found.result.name}: far from the rest of its block: {listed(named)}. Nothing is "
        f"removed; with it {with_it}, without it {_spread(found.without, words)}. Look at that "
        "trial's record before believing either."
    )


def _spread(spread: RoundedSpread | NotYet | None, words: Words) -> str:
    if not isinstance(spread, RoundedSpread):
        return "no figure"
    return words.spread(spread)


def _order(found: Oddities, words: Words) -> Iterator[str]:
    name = found.result.name
    if found.drifts and isinstance(found.drift, BlockDrift):
        slope = found.drift.slope
        span = f"{words.signed(slope.low)} to {words.signed(slope.high)}"
        yield (
            f"{name}: readings drift within their blocks, {words.signed(slope.value)} mm a setting "
            f"({span}; {p_value(found.drift.test.p_value)}). About that drift their ordinary s is "
            f"{words.mm(found.drift.residual_sd)} mm."
        )
    if found.neighbours_alike and isinstance(found.neighbours, Neighbours):
        kind = (
            "resemble" if found.neighbours.value > found.neighbours.expected else "alternate with"
        )
        yield (
            f"{name}: neighbouring settings {kind} each other more than chance has it (lag-1 "
            f"correlation {found.neighbours.value:+.2f}, expected {found.neighbours.expected:+.2f} "
            f"± {found.neighbours.band:.2f}), so intervals are too narrow."
        )
    for one in found.warm_ups:
        if one.trials:
            yield f"{name}: {warm_up_words(one)} ({p_value(one.p_value)})."


def crossed_texts(analysis: Analysis) -> Iterator[str]:
    """The gauge study of each method, and why others have none."""
    reasons: dict[str, list[str]] = {}
    for found in analysis.crossed:
        if isinstance(found.study, NotYet):
            reasons.setdefault(reason_words(found.study.reason), []).append(found.method)
        else:
            yield _crossed_text(analysis, found)
    for reason, methods in reasons.items():
        yield wrapped(f"No gauge study of {listed(methods)}: {reason}.")


def _crossed_text(analysis: Analysis, found: "Crossed") -> str:
    assert not isinstance(found.study, NotYet)
    words, components, figures = Words.of(analysis), found.study.components, found.study.figures
    goal = analysis.goal
    heads = ["component", "s", "95 % of s", "% of total"] + (["% of tolerance"] if goal else [])
    rows = [
        _component(name, estimate, found, words, goal.within_mm if goal else None)
        for name, estimate in (
            ("repeatability (EV)", components.repeatability),
            ("operators (AV)", components.operator),
            ("operators x points", components.interaction),
            ("measuring in all (GRR)", components.grr),
            ("points (PV)", components.part),
            ("total (TV)", components.total),
        )
        if estimate is not None
    ]
    ndc = figures.ndc
    head = wrapped(
        f"{found.method}: {found.points} points play the parts, {found.operators} operators; "
        f"{reason_words(found.study.says)}."
    )
    count = (
        f"Distinct categories (ndc): {ndc if isinstance(ndc, int) else reason_words(ndc.reason)}."
    )
    share = f" The tolerance counted is the whole width, {2 * goal.within_mm:g} mm." if goal else ""
    return "\n\n".join([head, table(heads, rows, right={1, 2, 3, 4}), wrapped(f"{count}{share}")])


def _component(
    name: str, estimate: Estimate, found: "Crossed", words: Words, within_mm: float | None
) -> list[str]:
    assert not isinstance(found.study, NotYet)
    figures = found.study.figures
    share = figures.percent_of_total(estimate.value)
    row = [name, words.mm(estimate.value), words.range(estimate.interval)]
    row.append("" if isinstance(share, NotYet) else f"{share:.1f}")
    if within_mm is not None:
        row.append(f"{figures.percent_of_tolerance(estimate.value, 2 * within_mm):.1f}")
    return row


def comparison_notes(found: "Compared") -> Sequence[str]:
    """How to read the table of comparisons."""
    reasons = dict.fromkeys(
        reason_words(pair.test.reason) for pair in found.pairs if isinstance(pair.test, NotYet)
    )
    return [
        "p: that the two scatter alike, allowing (Holm) for there being several of its kind. "
        f"As good: surely within a factor {found.margin:g} of each other. Each interval is for its "
        "ratio alone. Ratios are of what was read, rig included, so the settings themselves differ "
        "by more.",
        *(f"Where p is missing: {reason}." for reason in reasons),
    ]
