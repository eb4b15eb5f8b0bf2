"""Every reading of a run as a table, the void ones with their reason."""

from hostctl.report.significant import in_mm
from hostctl.report.table import table
from hostctl.store.rows import RunRecord, StoredReading

HEADS = ("time (UTC)", "block", "trial", "point", "method", "operator", "mm", "from zero", "note")
FROM_ZERO = HEADS.index("from zero")
FIGURES = (1, 2, FROM_ZERO - 1, FROM_ZERO)


def readings_table(record: RunRecord) -> str:
    """One line a reading, in the order in which they were stored.

    What it reads from its zero has a column where that differs from what was read.
    """
    rows = [_row(reading) for reading in record.readings]
    if all(row[FROM_ZERO] in ("", row[FROM_ZERO - 1]) for row in rows):
        shown = [k for k in range(len(HEADS)) if k != FROM_ZERO]
    else:
        shown = list(range(len(HEADS)))
    lines = [[row[column] for column in shown] for row in (HEADS, *rows)]
    return table(lines[0], lines[1:], right={shown.index(k) for k in FIGURES if k in shown})


def _row(reading: StoredReading) -> list[str]:
    place, kept = reading.kept.place, reading.kept
    again = f" ({place.round})" if place.round > 1 else ""
    note = "zero" if kept.is_zero else ""
    if reading.void is not None:
        note = f"void: {reading.void}"
    step_mm = kept.reading.resolution_mm
    return [
        f"{kept.reading.taken_at:%H:%M:%S}",
        f"{place.block}{again}",
        str(place.trial),
        place.point,
        place.method,
        place.operator,
        in_mm(kept.reading.value_mm, step_mm),
        "" if reading.relative_mm is None else in_mm(reading.relative_mm, step_mm),
        note,
    ]
