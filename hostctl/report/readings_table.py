"""Every reading of a run as a table, the void ones with their reason."""

from hostctl.report.table import table
from hostctl.store.rows import RunRecord, StoredReading

HEADS = ("time (UTC)", "block", "trial", "point", "method", "operator", "mm", "from zero", "note")


def readings_table(record: RunRecord) -> str:
    """One line a reading, in the order in which they were stored."""
    return table(HEADS, [_row(reading) for reading in record.readings], right={1, 2, 6, 7})


def _row(reading: StoredReading) -> list[str]:
    place, kept = reading.kept.place, reading.kept
    again = f" ({place.round})" if place.round > 1 else ""
    note = "zero" if kept.is_zero else ""
    if reading.void is not None:
        note = f"void: {reading.void}"
    return [
        f"{kept.reading.taken_at:%H:%M:%S}",
        f"{place.block}{again}",
        str(place.trial),
        place.point,
        place.method,
        place.operator,
        f"{kept.reading.value_mm:.4f}",
        "" if reading.relative_mm is None else f"{reading.relative_mm:.4f}",
        note,
    ]
