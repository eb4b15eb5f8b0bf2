"""How far off is it: the table of the mean gaps, the tie behind them, and whether it held."""

from collections.abc import Iterator
from dataclasses import replace

from hostctl.report.analysis.told.words import Words, counted
from hostctl.report.document.blocks import Block, Figure, Heading
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow
from hostctl.report.trueness.result import TieFound
from hostctl.report.trueness.told import how_far_off
from hostctl.report.whole.result import Report, TieSeen


def how_far(report: Report) -> Iterator[Block]:
    """Nothing where nothing ties the readings to the nozzle."""
    analysis = report.analysis
    if analysis.tie is None:
        return
    words = Words.of(analysis)
    rig_out = analysis.rig is not None
    _, *told = how_far_off(analysis.trueness, analysis.tie, words, rig_out=rig_out)
    yield Heading(text="How far off is it?")
    yield from (replace(one, level=2) if isinstance(one, Heading) else one for one in told)
    if report.ties:
        yield Heading(text="Did the tie hold?", level=2)
        drawing = IntervalChart(
            rows=tuple(_rows(report.ties, words)), along="difference", unit="mm", against=None
        )
        says = _seen(analysis.tie, report.ties, words)
        yield Figure(drawing=drawing, says=says, name="tie")


def _rows(seen: tuple[TieSeen, ...], words: Words) -> Iterator[IntervalRow]:
    """Those made together under one head."""
    last, number, several = None, 0, len({one.point for one in seen}) > 1
    for one in seen:
        made = one.block, one.point
        number = number + 1 if made == last else 1
        low, high = words.signed(one.low_mm), words.signed(one.high_mm)
        yield IntervalRow(
            label=f"{number}",
            value=None,
            low=one.low_mm,
            high=one.high_mm,
            says=f"{low} to {high} mm",
            head="" if made == last else _head(one, several=several),
        )
        last = made


def _head(one: TieSeen, *, several: bool) -> str:
    when = "the tie" if one.after is None else f"after {counted(one.after, 'setting')}"
    return f"{when}, at {one.point}" if several else when


def _seen(tie: TieFound, seen: tuple[TieSeen, ...], words: Words) -> str:
    says = (
        f"{counted(len(seen), 'observation')} of the tie, in the order made; each bar is where the "
        "constant lies by that one alone, from what the first tie came to"
    )
    if not tie.checks:
        return f"{says}."
    moved = [check for check in tie.checks if check.moved]
    largest = max(tie.checks, key=lambda check: abs(check.shift_mm))
    found = f"{len(moved)} of {counted(len(tie.checks), 'check')} found that it had moved"
    return f"{says}. {found}; the largest shift is {words.signed(largest.shift_mm)} mm."
