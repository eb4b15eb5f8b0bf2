"""Every reading of a run as a table: the void ones with their reason, doubted ones marked."""

from collections.abc import Iterator, Sequence

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.significant import in_mm
from hostctl.report.sources.tie_record import DOUBTED, doubted_spots
from hostctl.store.rows import RunRecord, StoredReading

_COLUMNS = (
    Column(head="UTC"),
    Column(head="block", is_number=True),
    Column(head="trial", is_number=True),
    Column(head="point"),
    Column(head="method"),
    Column(head="operator"),
    Column(head="mm", is_number=True),
    Column(head="from 0", is_number=True),
)
_FROM_ZERO = len(_COLUMNS) - 1


def readings_table(record: RunRecord) -> Table:
    """A row for each reading, in the order in which they were stored. Why it is void is a note, and
    whether its tie was found to have moved after it.

    What it reads from its zero has a column where that differs from what was read; a column that
    would be empty has none.
    """
    rows = [_row(reading) for reading in record.readings]
    shown = _shown(rows)
    return Table(
        columns=tuple(_COLUMNS[k] for k in shown),
        rows=tuple(tuple(row[k] for k in shown) for row in rows),
        notes=dict(_notes(record)),
    )


def _notes(record: RunRecord) -> Iterator[tuple[int, str]]:
    """By the place of a row."""
    doubted = doubted_spots(record.events)
    for at, reading in enumerate(record.readings):
        place = reading.kept.place
        spot = (place.block, place.round, place.trial, place.attempt)
        said = [DOUBTED] if spot in doubted else []
        said += [] if reading.void is None else [f"void: {reading.void}"]
        if said:
            yield at, ", ".join(said)


def _shown(rows: Sequence[Sequence[str]]) -> list[int]:
    shown = [k for k in range(len(_COLUMNS)) if not rows or any(row[k] for row in rows)]
    if all(row[_FROM_ZERO] in ("", row[_FROM_ZERO - 1]) for row in rows):
        return [k for k in shown if k != _FROM_ZERO]
    return shown


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
