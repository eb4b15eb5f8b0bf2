"""What a steady rig rarely shows, found in its charts and said in plain words."""

from collections.abc import Iterable, Sequence

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.over_time.history import EwmaChart, IndividualsChart, SpreadChart
from hostctl.metrology.over_time.run_rules import Rule, Signal
from hostctl.report.document.significant import significant
from hostctl.report.history.result import Point, Shows, Sign


def signs_of(
    what: str,
    points: Sequence[Point],
    chart: IndividualsChart | NotYet,
    ewma: EwmaChart | None,
    spread: SpreadChart | None,
) -> list[Sign]:
    """Every sign, in the order of the point that completes it. what: names the values."""
    found: list[Sign] = []
    if spread is not None:
        found += _too_wide(points, spread)
    if not isinstance(chart, NotYet):
        # The limit of a spread by its own degrees of freedom says the same as BEYOND, and better.
        told = [s for s in chart.signals if spread is None or s.rule is not Rule.BEYOND]
        found += _rules(what, points, told)
        found += _jumps(what, points, chart)
    if ewma is not None:
        found += _drifts(what, points, ewma)
    return sorted(found, key=lambda sign: (sign.last, sign.first))


def _too_wide(points: Sequence[Point], spread: SpreadChart) -> Iterable[Sign]:
    for first, last in _stretches(spread.beyond):
        widest = max(range(first, last + 1), key=lambda index: points[index].value)
        words = (
            f"{_span(points[first : last + 1])}: spread beyond the limit, "
            f"{points[widest].value:.4f} mm where {spread.upper[widest]:.4f} mm is allowed."
        )
        yield _sign(Shows.LIMIT, first, last, words)


def _stretches(indexes: Sequence[int]) -> list[tuple[int, int]]:
    """Runs of neighbours, each as its first and its last."""
    stretches: list[tuple[int, int]] = []
    for index in indexes:
        if stretches and index == stretches[-1][1] + 1:
            stretches[-1] = (stretches[-1][0], index)
        else:
            stretches.append((index, index))
    return stretches


def _rules(what: str, points: Sequence[Point], signals: Sequence[Signal]) -> Iterable[Sign]:
    """The same rule broken at one point after another is told once."""
    for rule in Rule:
        broken = {signal.last: signal for signal in signals if signal.rule is rule}
        for begin, last in _stretches(sorted(broken)):
            first = broken[begin].first
            words = f"{_span(points[first : last + 1])}, {what}: {rule.value}."
            yield _sign(Shows.RULE, first, last, words, begin)


def _jumps(what: str, points: Sequence[Point], chart: IndividualsChart) -> Iterable[Sign]:
    for index in chart.jumps:
        step = significant(abs(points[index].value - points[index - 1].value))
        words = (
            f"{_span(points[index : index + 1])}, {what}: a step of {step} mm from the check "
            f"before, more than the moving range allows ({significant(chart.moving_range_upper)} "
            "mm)."
        )
        yield _sign(Shows.STEP, index - 1, index, words, index)


def _drifts(what: str, points: Sequence[Point], ewma: EwmaChart) -> Iterable[Sign]:
    for first, last in _stretches(ewma.beyond):
        up = ewma.averages[first] > ewma.upper[first]
        words = (
            f"{_span(points[first : last + 1])}, {what}: the weighted average has drifted "
            f"{'up' if up else 'down'} out of its limits, as a slow change does."
        )
        yield _sign(Shows.DRIFT, first, last, words)


def _sign(shows: Shows, first: int, last: int, words: str, begin: int | None = None) -> Sign:
    """begin: the first point at which it shows, if that isn't `first`."""
    marked = tuple(range(first if begin is None else begin, last + 1))
    return Sign(shows=shows, first=first, last=last, marked=marked, words=words)


def _span(points: Sequence[Point]) -> str:
    """`Run 4 (2026-11-25)`, or from the first to the last."""
    first = _named(points[0])
    return first[0].upper() + first[1:] + (f" to {_named(points[-1])}" if points[1:] else "")


def _named(point: Point) -> str:
    return f"{point.name} ({point.when})" if point.when else point.name
