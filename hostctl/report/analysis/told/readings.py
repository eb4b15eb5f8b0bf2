"""Every reading of a run as a table, the void ones with their reason."""

from hostctl.report.document.significant import in_mm
from hostctl.report.document.table import table
from hostctl.report.document.wrapped import wrapped
from hostctl.store.rows import RunRecord, StoredReading

HEADS = ("UTC", "block", "trial", "point", "method", "operator", "mm", "from 0")
FROM_ZERO = HEADS.index("from 0")
FIGURES = (1, 2, FROM_ZERO - 1, FROM_ZERO)
UNDER_ITS_ROW = " " * 10


def readings_table(record: RunRecord) -> str:
    """One line a reading, in the order in which they were stored; why it is void stands below it.

    What it reads from its zero has a column where that differs from what was read; a column that
    would be empty has none.
    """
    rows = [_row(reading) for reading in record.readings]
    shown = [k for k in range(len(HEADS)) if not rows or any(row[k] for row in rows)]
    if all(row[FROM_ZERO] in ("", row[FROM_ZERO - 1]) for row in rows):
        shown = [k for k in shown if k != FROM_ZERO]
    lines = [[row[column] for column in shown] for row in (HEADS, *rows)]
    right = {shown.index(k) for k in FIGURES if k in shown}
    head, rule, *drawn = table(lines[0], lines[1:], right=right).splitlines()
    noted = [
        f"{line}{_note(reading)}" for line, reading in zip(drawn, record.readings, strict=True)
    ]
    return "\n".join([head, rule, *noted])


def _row(reading: StoredReading) -> list[str]:
    place, kept = reading.kept.place, reading.kept
    again = f" ({place.round})" if place.round > 1 else ""
    step_mm = kept.reading.resolution_mm
    return [
        f"{kept.reading.taken_at:%H:%M:%S}",
        f"{place.block}{again}",
        "zero" if kept.is_zero else str(place.trial),
        place.point,
        place.method,
        place.operator,
        in_mm(kept.reading.value_mm, step_mm),
        "" if reading.relative_mm is None else in_mm(reading.relative_mm, step_mm),
    ]


def _note(reading: StoredReading) -> str:
    if reading.void is None:
        return ""
    return f"\n{wrapped(f'void: {reading.void}', first=UNDER_ITS_ROW)}"
