"""Mean settings compared, in words, as a table, and with the numbers to do it again."""

from collections.abc import Iterator
from itertools import groupby

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.means import Bias, CountedOnce, Difference, MeanStanding
from hostctl.report.analysis.told.words import (
    MINUS,
    Words,
    counted,
    listed,
    p_cell,
    p_value,
    whose,
)
from hostctl.report.document.blocks import Block, Column, Heading, Items, Table
from hostctl.report.document.reasons import reason_words

_STANDING: dict[MeanStanding, str] = {
    "higher": "sets higher",
    "lower": "sets lower",
    "alike": "as high",
    "cannot tell": "cannot tell yet",
}
_UNITS: dict[CountedOnce, str] = {
    "points": "Where both have several points, each gives one difference of means, and these are "
    "the sample (t test of pairs): a mean over points would have the bed's shape in it. "
    "More points make it surer.",
    "blocks": "Where there are several blocks at one point, each counts once, by its mean (Welch), "
    "as its readings share a zero.",
    "readings": "Where there is one block each, the readings are the sample (Welch): an error of a "
    "block's zero is in the difference, and not in its interval.",
}


def means_compared(analysis: Analysis) -> Iterator[Block]:
    """Nothing where readings don't count from one datum."""
    if analysis.biases:
        yield Heading(text="Mean settings compared, mm")
        yield _table(analysis)
        yield Items(items=tuple(_sentences(analysis)))


def means_explained(analysis: Analysis) -> Iterator[str]:
    """t, its degrees of freedom and p, from means and standard deviations that can be checked."""
    words = Words.of(analysis)
    for pair in analysis.biases:
        if isinstance(pair.found, Difference) and pair.adjusted_p is not None:
            names = f"{pair.first} − {pair.second}, {_shared(pair)}"
            yield f"{names}: {_sums(pair.found, words)}; by Holm {p_value(pair.adjusted_p)}"


def _table(analysis: Analysis) -> Table:
    """Each pair: the difference of means with its interval, the adjusted p, how the first sets."""
    words = Words.of(analysis)
    rows: list[tuple[str, ...]] = []
    for shared, pairs in groupby(analysis.biases, key=_shared):
        rows += [(f"{shared}:",), *(_row(pair, words) for pair in pairs)]
    return Table(
        columns=(
            Column(head="first − second"),
            Column(head="difference", is_number=True),
            Column(head="p", is_number=True),
            Column(head="the first"),
        ),
        rows=tuple(rows),
    )


def _sentences(analysis: Analysis) -> Iterator[str]:
    """Which sets higher and by how much, in whose hands; then how to read that."""
    words = Words.of(analysis)
    within = "" if analysis.goal is None else f"{analysis.goal.within_mm:g} mm"
    for shared, pairs in groupby(analysis.biases, key=_shared):
        said = "; ".join(_clause(pair, words, within) for pair in pairs)
        yield f"{shared[0].upper()}{shared[1:]}: {said}."
    units = {pair.found.unit for pair in analysis.biases if isinstance(pair.found, Difference)}
    if units:
        alike = (
            f" As high: shown to be within {within} of each other, the tolerance." if within else ""
        )
        yield (
            "Difference: 95 % within the ±, for that pair alone. p: that they set equally high, "
            "allowing (Holm) for there being several of its kind. Higher: the larger reading; "
            f"where readings grow as the bed rises, that is the narrower gap.{alike}"
        )
    yield from (says for unit, says in _UNITS.items() if unit in units)
    yield from _rounding(analysis)


def _shared(pair: Bias) -> str:
    return whose(pair.varied, pair.fixed)


def _row(pair: Bias, words: Words) -> tuple[str, ...]:
    difference, p = "", ""
    if isinstance(pair.found, Difference) and pair.adjusted_p is not None:
        difference, p = words.with_reach(pair.found.estimate), p_cell(pair.adjusted_p)
    return f"{pair.first} − {pair.second}", difference, p, _STANDING[pair.standing]


def _clause(pair: Bias, words: Words, within: str) -> str:
    first, second = pair.first, pair.second
    if isinstance(pair.found, NotYet):
        return f"{first} and {second}: cannot tell yet, {reason_words(pair.found.reason)}"
    mean, n = pair.found.estimate, _n(pair.found)
    if pair.standing in ("alike", "cannot tell"):
        span = f"{words.signed(mean.low)} to {words.signed(mean.high)} mm"
        figure = f"(difference {words.signed(mean.value)} mm, 95 %: {span}, from {n})"
        if pair.standing == "alike":
            return f"{first} and {second} set as high, shown to be within {within} {figure}"
        return f"cannot tell yet which of {first} and {second} sets higher {figure}"
    low, high = sorted((abs(mean.low), abs(mean.high)))
    less = f", shown to be less than {within}" if pair.shown_within else ""
    return (
        f"{first} sets {pair.standing} than {second} by {words.mm(abs(mean.value))} mm "
        f"(95 %: {words.mm(low)} to {words.mm(high)} mm, from {n}){less}"
    )


def _n(found: Difference) -> str:
    if found.unit == "points":
        return counted(found.samples[0].n, "point")
    return f"{found.samples[0].n} and {found.samples[1].n} {found.unit}"


def _sums(found: Difference, words: Words) -> str:
    t = f"{round(found.test.statistic, 3) + 0.0:g}".replace("-", MINUS)
    df = f"{found.test.df[0]:.4g}"
    end = f"t = {t} on {df} degrees of freedom, {p_value(found.test.p_value)}"
    if found.standard_error_mm is not None:
        (of,) = found.samples
        return (
            f"mean of {of.n} differences {words.signed(of.mean)} mm, s of them {of.sd:.4g} mm; "
            f"mean / (s / √{of.n}) = {words.signed(of.mean)} / {found.standard_error_mm:.4g}: {end}"
        )
    one, other = found.samples
    return (
        f"means {words.signed(one.mean)} and {words.signed(other.mean)} mm of {one.n} and "
        f"{other.n} {found.unit}, s {one.sd:.4g} and {other.sd:.4g} mm; their difference / "
        f"√({one.sd:.4g}² / {one.n} + {other.sd:.4g}² / {other.n}): {end}"
    )


def _rounding(analysis: Analysis) -> Iterator[str]:
    h = analysis.source.resolution_mm
    fine = [result.name for result in analysis.results if result.rounding_may_shift_mean]
    if fine:
        yield (
            f"Scatter of perhaps less than half a graduation (of {h:.6g} mm): {listed(fine)}. "
            "Rounding may then shift a mean by as much as half a graduation, which its interval "
            "does not show: a difference that this could make is not called one."
        )
