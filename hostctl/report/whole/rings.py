"""Do workshops agree: Mandel's k and h of each, held against their limits."""

from collections.abc import Iterator

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.workshops import BetweenWorkshops
from hostctl.report.analysis.told.words import listed
from hostctl.report.analysis.told.workshops import workshops_compared
from hostctl.report.document.blocks import Block, Figure, Heading
from hostctl.report.document.significant import MINUS
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow, Mark


def between_workshops(analysis: Analysis) -> Iterator[Block]:
    """Nothing with fewer than three."""
    if not analysis.workshops:
        return
    yield Heading(text="Do workshops agree?")
    alone = len(analysis.workshops) == 1
    for found in analysis.workshops:
        suffix = "" if alone else f"-{found.method}"
        yield from _spreads(found, f"workshops{suffix}")
        yield from _means(found, f"workshop-means{suffix}")
    yield from workshops_compared(analysis)


def _spreads(found: BetweenWorkshops, name: str) -> Iterator[Figure]:
    figures = {one.name: one.k for one in found.workshops if one.k is not None}
    if figures:
        limit = found.k_limit
        mark = None if limit is None else Mark(low=None, high=limit, label=f"limit {limit:.2f}")
        drawing = IntervalChart(rows=_rows(figures), along="size", unit="", against=mark)
        out = [name for name, k in figures.items() if limit is not None and k > limit]
        yield Figure(drawing=drawing, says=_seen(found, "k", "s", limit, out), name=name)


def _means(found: BetweenWorkshops, name: str) -> Iterator[Figure]:
    figures = {one.name: one.h for one in found.workshops if one.h is not None}
    if figures:
        limit = found.h_limit
        mark = None
        if limit is not None:
            mark = Mark(low=-limit, high=limit, label=f"limits ±{limit:.2f}")
        drawing = IntervalChart(rows=_rows(figures), along="difference", unit="", against=mark)
        out = [name for name, h in figures.items() if limit is not None and abs(h) > limit]
        yield Figure(drawing=drawing, says=_seen(found, "h", "mean", limit, out), name=name)


def _rows(figures: dict[str, float]) -> tuple[IntervalRow, ...]:
    return tuple(
        IntervalRow(
            label=name,
            value=value,
            low=value,
            high=value,
            says=f"{value:.2f}".replace("-", MINUS),
        )
        for name, value in figures.items()
    )


def _seen(
    found: BetweenWorkshops, letter: str, what: str, limit: float | None, out: list[str]
) -> str:
    says = f"{found.method}: each workshop's {what} against that of all, as {letter}"
    if limit is None:
        return f"{says}; no limit holds for all of them."
    if not out:
        return f"{says}; none lies beyond the limit of {limit:.2f}."
    return f"{says}; beyond the limit of {limit:.2f}: {listed(out)}."
