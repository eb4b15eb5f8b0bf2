"""Whose share is it: the rig, or hand and method; in a crossed study every component."""

from collections.abc import Iterator, Sequence

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.crossed import ComponentShare, Crossed
from hostctl.report.analysis.result.judgement import MethodResult
from hostctl.report.analysis.told.crossed import COMPONENTS, gauge_studies
from hostctl.report.analysis.told.words import Words
from hostctl.report.document.blocks import Block, Figure, Heading, Paragraph
from hostctl.report.document.significant import percent
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow
from hostctl.report.figures.share_bars import ShareBar, ShareBars


def whose_share(analysis: Analysis) -> Iterator[Block]:
    """Nothing where neither a rig check nor a crossed study tells."""
    known = [result for result in analysis.results if result.rig_share is not None]
    if not known and not analysis.crossed:
        return
    yield Heading(text="Whose share is it?")
    if known:
        yield _figure(known)
        yield Paragraph(
            text="Of the variance of what was read; about, since both figures are uncertain. What "
            "is not the rig's is of hand and method together."
        )
    if analysis.crossed:
        yield from _components(analysis)
        yield from gauge_studies(analysis)


def _figure(known: Sequence[MethodResult]) -> Figure:
    bars = tuple(
        ShareBar(label=result.name, shares=(result.rig_share, 1.0 - result.rig_share))
        for result in known
        if result.rig_share is not None
    )
    most, least = (pick(bars, key=lambda bar: bar.shares[0]) for pick in (max, min))
    says = f"Of the variance read of {most.label} the rig makes about {percent(most.shares[0])}"
    if most is not least:
        says += f", of that of {least.label} about {percent(least.shares[0])}"
    drawing = ShareBars(parts=("rig", "hand and method"), bars=bars)
    return Figure(drawing=drawing, says=f"{says}; the rest is hand and method.", name="shares")


def _components(analysis: Analysis) -> Iterator[Figure]:
    words = Words.of(analysis)
    studied = [found for found in analysis.crossed if not isinstance(found.study, NotYet)]
    rows = tuple(row for found in studied for row in _rows(found, words))
    if rows:
        drawing = IntervalChart(rows=rows, along="size", unit="mm", against=None)
        yield Figure(drawing=drawing, says=_seen(studied, words), name="components")


def _rows(found: Crossed, words: Words) -> Iterator[IntervalRow]:
    for place, share in enumerate(found.shares):
        estimate = share.estimate
        yield IntervalRow(
            label=COMPONENTS[share.component],
            value=estimate.value,
            low=estimate.low,
            high=estimate.high,
            says=f"{words.mm(estimate.value)} mm ({words.range(estimate.interval)})",
            head="" if place else found.method,
        )


def _seen(studied: Sequence[Crossed], words: Words) -> str:
    """The largest of the parts, method by method."""
    said = []
    for found in studied:
        parts = [share for share in found.shares if share.component not in ("grr", "tv")]
        largest = max(parts, key=_size)
        name = COMPONENTS[largest.component]
        said.append(f"{found.method}, {name} with {words.mm(_size(largest))} mm")
    return f"Standard deviations of the parts; the largest: {'; '.join(said)}."


def _size(share: ComponentShare) -> float:
    return share.estimate.value
