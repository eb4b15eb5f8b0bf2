"""Does it depend on time; and every reading, block by block."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.told.described import counted_from
from hostctl.report.analysis.told.odd import looked_for, oddities_told
from hostctl.report.analysis.told.words import Words, counted, listed
from hostctl.report.document.blocks import Block, Figure, Heading, Items, Paragraph
from hostctl.report.figures.dot_rows import DotRows
from hostctl.report.figures.dots.row import DotRow, Dots
from hostctl.report.figures.order_chart import OrderChart, Placed, Stretch
from hostctl.report.whole.result import BlockSeen, PlaceSeen, Report

MOST_STRETCHES = 40
"""Blocks that the figure names; with more of them, none."""


def in_time(report: Report) -> Iterator[Block]:
    """Settings as they came, and what does not look like chance in them."""
    told = tuple(oddities_told(report.analysis))
    several = len(report.order.places) > 1
    if not several and not told:
        return
    yield Heading(text="Does it depend on time?")
    if several:
        yield _order(report)
    if told:
        yield Items(items=told)


def every_reading(report: Report) -> Iterator[Block]:
    """Each block on the grid of graduations."""
    analysis = report.analysis
    yield Heading(text="Every reading")
    if not report.blocks:
        yield Paragraph(
            text=f"{analysis.source.readings} readings are too many to show block by block; the "
            "data that come with this report have every one."
        )
        return
    drawing = DotRows(
        rows=tuple(_blocks(report)),
        step_mm=analysis.source.resolution_mm,
        within_mm=None,
        counted_from=_zero_of(analysis),
    )
    yield Figure(drawing=drawing, says=_blocks_seen(report), name="blocks")


def _order(report: Report) -> Figure:
    analysis = report.analysis
    drawing = OrderChart(
        kinds=tuple(result.name for result in analysis.results),
        settings=tuple(
            Placed(place=one.place, value_mm=one.from_mm, kind=one.result, count=one.count)
            for one in report.order.places
        ),
        stretches=() if report.order.shared else _stretches(report),
        step_mm=report.order.step_mm,
        within_mm=analysis.goal.within_mm if analysis.goal and report.counts else None,
        counted_from=counted_from(analysis),
        foot=f"{_what(analysis)}s{_as_made(report)}",
    )
    return Figure(drawing=drawing, says=_order_seen(report), name="order")


def _stretches(report: Report) -> tuple[Stretch, ...]:
    """Blocks whose settings follow each other; none where they come mixed, or are too many."""
    runs = [
        (block, list(places))
        for block, places in groupby(report.order.places, lambda one: one.block)
    ]
    mixed = len(runs) > len({block for block, _ in runs})
    if mixed or len(runs) > MOST_STRETCHES or not report.blocks:
        return ()
    return tuple(_stretch(report, report.blocks[block], places) for block, places in runs)


def _stretch(report: Report, block: BlockSeen, places: Sequence[PlaceSeen]) -> Stretch:
    name = report.analysis.results[block.result].name
    label = f"{name} at {block.point}" if block.point else name
    return Stretch(first=places[0].place, last=places[-1].place, label=label)


def _order_seen(report: Report) -> str:
    """What shows in the order, of whom; else that nothing does."""
    analysis = report.analysis
    settings = sum(one.count for one in report.order.places)
    says = (
        f"{counted(settings, _what(analysis))}{_as_made(report)}, each by its distance from "
        f"{counted_from(analysis)}"
    )
    if report.order.shared:
        says += f", to the nearest {report.order.step_mm:g} mm"
    shows = [
        f"{result.name}: {listed(result.order_shows)}"
        for result in analysis.results
        if result.order_shows
    ]
    if shows:
        return f"{says}. More than chance has it, there is {'; '.join(shows)}."
    tellable = [what for what in looked_for(analysis) if what != "outlier"]
    if not tellable:
        return f"{says}: too few to say whether time has a part in it."
    return f"{says}: no {listed(tellable, 'or')} beyond what chance has."


def _as_made(report: Report) -> str:
    """A file's readings come block by block, however these were mixed when they were taken."""
    several = len({one.block for one in report.order.places}) > 1
    of_files = len(report.conduct) == 0
    return ", block after block" if several and of_files else " in the order made"


def _what(analysis: Analysis) -> str:
    return "setting" if analysis.source.reference == "first" else "reading"


def _blocks(report: Report) -> Iterator[DotRow]:
    results, last = report.analysis.results, None
    for block in report.blocks:
        where = ", ".join(filter(None, (block.point, block.workshop)))
        yield DotRow(
            label=where or results[block.result].name,
            note=f"n = {sum(one.count for one in block.settings)}",
            dots=tuple(
                Dots(value_mm=one.value_mm, count=one.count, outside=False, doubted=block.doubted)
                for one in block.settings
            ),
            zero=block.has_zero,
            average_mm=block.average_mm,
            head=results[block.result].name if where and block.result != last else "",
        )
        last = block.result


def _zero_of(analysis: Analysis) -> str:
    match analysis.source.reference:
        case "first":
            return "each block's own zero"
        case "previous":
            return "the setting before"
        case "datum" if analysis.source.own_zeros:
            return "each block's own zero"
        case "datum" if analysis.source.zero_known:
            return "the datum" if analysis.tie is None else "the target"
        case _:
            return "the gauge's own zero"


def _blocks_seen(report: Report) -> str:
    analysis = report.analysis
    words = Words.of(analysis)
    settings = sum(one.count for block in report.blocks for one in block.settings)
    low = min(report.blocks, key=lambda block: block.average_mm)
    high = max(report.blocks, key=lambda block: block.average_mm)
    says = (
        f"{counted(settings, _what(analysis))} in {counted(len(report.blocks), 'block')}, as read "
        f"on graduations of {analysis.source.resolution_mm:.6g} mm, from {_zero_of(analysis)}"
    )
    if any(block.has_zero for block in report.blocks):
        says += ", which is the ring at 0"
    if settings == 1:
        return f"{says}."
    if low is high:
        return f"{says}. Their average is {words.signed(low.average_mm)} mm."
    return (
        f"{says}. Block averages lie between {words.signed(low.average_mm)} and "
        f"{words.signed(high.average_mm)} mm."
    )
