"""How far off is it: the table of the mean gaps, the tie behind them, and whether it held."""

from collections.abc import Iterator
from math import inf

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.told.words import Words, counted
from hostctl.report.document.blocks import Block, Column, Figure, Heading, Paragraph, Table
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow
from hostctl.report.trueness.result import TieCheck, TieFound
from hostctl.report.trueness.told import how_far_off
from hostctl.report.whole.result import Report, TieSeen


def how_far(report: Report) -> Iterator[Block]:
    """Nothing where nothing ties the readings to the nozzle."""
    analysis = report.analysis
    if analysis.tie is None:
        return
    words = Words.of(analysis)
    yield Heading(text="How far off is it?")
    told = how_far_off(analysis.trueness, analysis.tie, words)
    yield from (block for block in told if not isinstance(block, Heading))
    yield from _the_tie(analysis, analysis.tie, report.ties, words)


def _the_tie(
    analysis: Analysis, tie: TieFound, seen: tuple[TieSeen, ...], words: Words
) -> Iterator[Block]:
    """Each observation of it, and what the checks said."""
    if not tie.points:
        return
    yield Heading(text="Did the tie hold?", level=2)
    if seen:
        drawing = IntervalChart(
            rows=tuple(_rows(seen, words)), along="difference", unit="mm", against=None
        )
        yield Figure(drawing=drawing, says=_seen(tie, seen, words), name="tie")
    if tie.checks:
        yield _checks(tie, words)
    if doubted := sum(one.doubted for one in analysis.trueness):
        yield Paragraph(
            text=f"{counted(doubted, 'reading')} {'was' if doubted == 1 else 'were'} taken between "
            "the last good check and one that found that the tie had moved. They are kept and "
            "marked; their gap lies anywhere between what the tie before and the one after say."
        )


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


def _checks(tie: TieFound, words: Words) -> Table:
    several = len({check.point for check in tie.checks}) > 1
    return Table(
        columns=(
            *((Column(head="point"),) if several else ()),
            Column(head="checked after settings", is_number=True),
            Column(head="shift", unit="mm", is_number=True),
            Column(head="told from 0 beyond", unit="mm", is_number=True),
            Column(head="tie"),
        ),
        rows=tuple(
            (*((check.point,) if several else ()), *_check(check, words)) for check in tie.checks
        ),
    )


def _check(check: TieCheck, words: Words) -> tuple[str, ...]:
    limit = "" if check.limit_mm == inf else f"±{words.mm(check.limit_mm)}"
    held = "moved" if check.moved else "held"
    return str(check.at_trial), words.signed(check.shift_mm), limit, held
