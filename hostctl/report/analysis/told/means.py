"""Mean settings compared, in words, as a table, and with the numbers to do it again."""

from collections.abc import Iterator
from itertools import groupby
from math import sqrt
from typing import NamedTuple

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.means import Bias, CountedOnce, Difference, MeanStanding
from hostctl.report.analysis.told.words import Words, counted, p_cell, p_value, whose
from hostctl.report.document.blocks import Block, Column, Heading, Items, Table
from hostctl.report.document.reasons import reason_words


class _Way(NamedTuple):
    """How it is said that one sets higher than another."""

    higher: str
    lower: str
    alike: str
    set_alike: str
    which: str
    higher_is: str

    def standing(self, standing: MeanStanding) -> str:
        """In a table."""
        return {
            "higher": f"sets {self.higher}",
            "lower": f"sets {self.lower}",
            "alike": self.alike,
            "cannot tell": "cannot tell",
        }[standing]


_READINGS = _Way(
    higher="higher",
    lower="lower",
    alike="as high",
    set_alike="equally high",
    which="Higher",
    higher_is="the larger reading; where readings grow as the bed rises, that is the narrower gap",
)
_GAPS = _Way(
    higher="wider",
    lower="narrower",
    alike="as wide",
    set_alike="equally wide",
    which="Wider",
    higher_is="each against the gap that it is meant to set; what a tie that both share has "
    "wrong drops out",
)


def _way(analysis: Analysis) -> _Way:
    return _READINGS if analysis.tie is None else _GAPS


_UNITS: dict[CountedOnce, str] = {
    "points": "Where both have several points, each gives one difference of means, and these are "
    "the sample: a mean over points would have the bed's shape in it. More points make it surer.",
    "blocks": "Where there are several blocks at one point, each counts once, by its mean, as its "
    "readings share a zero.",
    "readings": "Where there is one block each, the readings are the sample: an error of a block's "
    "zero is in the difference, and not in its interval.",
}
_UNITS_OF_GAPS: dict[CountedOnce, str] = {
    **_UNITS,
    "blocks": "Where there are several blocks at one point, each counts once, by its mean.",
    "readings": "Where there is one block each, the readings are the sample.",
}


def means_compared(analysis: Analysis) -> Iterator[Block]:
    """Nothing where readings don't count from one datum."""
    if analysis.biases:
        yield Heading(text="Mean settings compared, mm")
        yield from pairs_of_means(analysis)


def pairs_of_means(analysis: Analysis) -> Iterator[Block]:
    """The table and what follows from it."""
    yield _table(analysis)
    yield Items(items=tuple(_sentences(analysis)))


def means_explained(analysis: Analysis) -> Iterator[str]:
    """From which means and standard deviations, that can be checked, each p comes."""
    words = Words.of(analysis)
    for pair in analysis.biases:
        if isinstance(pair.found, Difference):
            names = f"{pair.first} − {pair.second}, {_shared(pair)}"
            end = f"{p_value(pair.found.judged.p_value)}{_as_many(pair.compared)}"
            yield f"{names}: {_sums(pair.found, words)}; {end}"


def _as_many(compared: int) -> str:
    return f" (times {compared}, as many pairs being compared)" if compared > 1 else ""


def _table(analysis: Analysis) -> Table:
    """Each pair: the difference of means, its interval and p, and how the first sets."""
    words = Words.of(analysis)
    rows: list[tuple[str, ...]] = []
    for shared, pairs in groupby(analysis.biases, key=_shared):
        rows += [(f"{shared}:",), *(_row(pair, words, _way(analysis)) for pair in pairs)]
    return Table(
        columns=(
            Column(head="first − second"),
            Column(head="difference", is_number=True),
            Column(head="95 %, all pairs", is_number=True),
            Column(head="p", is_number=True),
            Column(head="the first"),
        ),
        rows=tuple(rows),
    )


def _sentences(analysis: Analysis) -> Iterator[str]:
    """Which sets higher and by how much, in whose hands; then how to read that."""
    words, way = Words.of(analysis), _way(analysis)
    within = "" if analysis.goal is None else f"{analysis.goal.within_mm:g} mm"
    for shared, pairs in groupby(analysis.biases, key=_shared):
        said = "; ".join(_clause(pair, words, within, way) for pair in pairs)
        yield f"{shared[0].upper()}{shared[1:]}: {said}."
    units = {pair.found.unit for pair in analysis.biases if isinstance(pair.found, Difference)}
    if units:
        alike = (
            f" {way.alike.capitalize()}: shown to be within {within} of each other, the tolerance, "
            "allowing for all pairs too."
            if within
            else ""
        )
        yield (
            "p: the chance of a difference at least as large, if they set "
            f"{way.set_alike}. Interval "
            "and p allow for all pairs of their kind being compared, and for rounding; they say "
            "the same: the interval leaves out 0 exactly "
            f"where p is below 0.05. {way.which}: {way.higher_is}.{alike}"
        )
    told = _UNITS if analysis.tie is None else _UNITS_OF_GAPS
    yield from (says for unit, says in told.items() if unit in units)


def _shared(pair: Bias) -> str:
    return whose(pair.varied, pair.fixed)


def _row(pair: Bias, words: Words, way: _Way) -> tuple[str, ...]:
    difference, band, p = "", "", ""
    if isinstance(pair.found, Difference):
        difference, p = words.signed(pair.found.value), p_cell(pair.found.judged.p_value)
        band = difference_band(pair.found, words)
    return f"{pair.first} − {pair.second}", difference, band, p, way.standing(pair.standing)


def difference_band(found: Difference, words: Words) -> str:
    """The interval of a difference."""
    interval = found.judged.interval
    return f"{words.signed(interval.low)} to {words.signed(interval.high)}"


def _clause(pair: Bias, words: Words, within: str, way: _Way) -> str:
    first, second = pair.first, pair.second
    if isinstance(pair.found, NotYet):
        return f"{first} and {second}: cannot tell yet, {reason_words(pair.found.reason)}"
    judged, n = pair.found.judged, _n(pair.found)
    if pair.standing in ("alike", "cannot tell"):
        span = f"{difference_band(pair.found, words)} mm"
        figure = f"(difference {words.signed(pair.found.value)} mm, 95 %: {span}, from {n})"
        if pair.standing == "alike":
            return f"{first} and {second} set {way.alike}, shown to be within {within} {figure}"
        return f"cannot tell yet which of {first} and {second} sets {way.higher} {figure}"
    how = way.higher if pair.standing == "higher" else way.lower
    low, high = sorted((abs(judged.interval.low), abs(judged.interval.high)))
    less = f", shown to be less than {within}" if judged.within else ""
    return (
        f"{first} sets {how} than {second} by {words.mm(abs(pair.found.value))} mm "
        f"(95 %: {words.mm(low)} to {words.mm(high)} mm, from {n}){less}"
    )


def _n(found: Difference) -> str:
    if found.unit == "points":
        return counted(found.samples[0].n, "point")
    return f"{found.samples[0].n} and {found.samples[1].n} {found.unit}"


def _sums(found: Difference, words: Words) -> str:
    moved, none = words.mm(sum(found.shifts_mm)), words.mm(0.0)
    beside = "" if moved == none else f", and ±{moved} mm that rounding may have moved it"
    if found.unit == "points":
        (of,) = found.samples
        error = of.sd / sqrt(of.n)
        return (
            f"mean of {of.n} differences {words.signed(of.mean)} mm, s of them {of.sd:.4g} mm; "
            f"Student's t on {of.n - 1} degrees of freedom, standard error s / √{of.n} = "
            f"{error:.4g} mm{beside}"
        )
    one, other = found.samples
    return (
        f"means {words.signed(one.mean)} and {words.signed(other.mean)} mm of {one.n} and "
        f"{other.n} {found.unit}, s {one.sd:.4g} and {other.sd:.4g} mm; their difference when each "
        f"mean is drawn from its own confidence box{beside}"
    )
