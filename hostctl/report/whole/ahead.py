"""What came before and what would come after: the rig over time, and what more trials would do."""

from collections.abc import Iterator
from dataclasses import replace

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.told.words import Words
from hostctl.report.document.blocks import (
    Block,
    Column,
    Figure,
    Heading,
    Items,
    Paragraph,
    Role,
    Table,
)
from hostctl.report.document.significant import significant
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow
from hostctl.report.history.result import History
from hostctl.report.whole.result import Foresight, SpreadAfter


def rig_over_time(history: History | None) -> Iterator[Block]:
    """As `hostctl history` tells it; nothing with fewer than two checks."""
    if history is None:
        return
    from hostctl.report.history.document import HISTORY  # loads numpy

    yield Heading(text="Is the rig still what it was?")
    yield from map(_within, HISTORY.document(history, False).blocks)


def _within(block: Block) -> Block:
    """Its answer and cautions are of the rig, and not those of this report."""
    match block:
        case Paragraph() | Items():
            return replace(block, role=Role.REST)
        case _:
            return block


def more_trials(analysis: Analysis, foresight: Foresight) -> Iterator[Block]:
    """How far 3, 10, 30 and 100 settings would take one who begins now."""
    yield Heading(text=f"How far would {_all(foresight)} settings take you?")
    drawing = IntervalChart(
        rows=tuple(map(_row, foresight.after)), along="ratio", unit="", against=None
    )
    yield Figure(drawing=drawing, says=_seen(foresight), name="trials")
    yield _table(analysis, foresight)
    yield Paragraph(
        text="By the exact law of s of normal settings in one block, read finely (chi-square; "
        "JCGM 100:2008, table E.1 has its standard deviations). How many more trials would "
        "decide a verdict stands beside the verdict."
    )


def _all(foresight: Foresight) -> str:
    *first, last = (str(one.settings) for one in foresight.after)
    return f"{', '.join(first)} or {last}"


def _row(after: SpreadAfter) -> IntervalRow:
    return IntervalRow(
        label=f"{after.settings} settings",
        value=None,
        low=after.low,
        high=after.high,
        says=f"{_times(after)} times s",
    )


def _times(after: SpreadAfter) -> str:
    return f"{significant(after.low)} to {significant(after.high)}"


def _seen(foresight: Foresight) -> str:
    few, many = foresight.after[0], foresight.after[-1]
    return (
        f"After {few.settings} settings the true spread lies anywhere from {significant(few.low)} "
        f"to {significant(few.high)} times the s found; after {many.settings} from "
        f"{significant(many.low)} to {significant(many.high)} times (95 %)."
    )


def _table(analysis: Analysis, foresight: Foresight) -> Table:
    words, place = Words.of(analysis), foresight.result
    columns = [Column(head="settings", is_number=True)]
    columns.append(Column(head="true spread, in s found", is_number=True))
    if place is not None and foresight.s_mm is not None:
        name = analysis.results[place].name
        head = f"were s that of {name}, {words.mm(foresight.s_mm)}"
        columns.append(Column(head=head, unit="mm", is_number=True))
    rows = []
    for after in foresight.after:
        row = [str(after.settings), _times(after)]
        if after.low_mm is not None and after.high_mm is not None:
            row.append(f"{words.mm(after.low_mm)} to {words.mm(after.high_mm)}")
        rows.append(tuple(row))
    return Table(columns=tuple(columns), rows=tuple(rows))
