"""Many readings judged at once: what the SQL view `judged_readings` gives, at one scan's speed.

That one looks up zero and marks anew for each reading, which is right for one. Here the zeros and
the void readings of a run, which are few, are gathered first.
"""

import sqlite3
from collections.abc import Iterable, Iterator
from math import nan
from pathlib import Path
from typing import Any

from hostctl.store.file.connection import row_of_run
from hostctl.store.file.schema import MADE_VOID, WHOLE

_SPAN = "SELECT min(reading_id), max(reading_id) FROM readings WHERE run = ?"
_ZEROS = """SELECT block, round, value_mm, max(reading_id) FROM readings
    WHERE run = ? AND is_zero = 1 GROUP BY block, round"""
_ZERO_IDS = "SELECT reading_id FROM readings WHERE run = ? AND is_zero = 1"
_VOIDS = f"""SELECT r.reading_id, m.reason, min(m.mark_id) FROM marks m CROSS JOIN readings r
    WHERE m.run = ? AND {MADE_VOID} GROUP BY r.reading_id"""

BlockAndRound = tuple[int, int]


def readings_of(
    connection: sqlite3.Connection, run: int, expressions: str, at_once: int
) -> Iterator[list[tuple[Any, ...]]]:
    """Some expressions of each reading r of a run, in the order stored, so many rows at once."""
    first, last = span_of(connection, run)
    rows = connection.execute(
        f"""SELECT {expressions} FROM readings r
        WHERE r.reading_id BETWEEN ? AND ? AND +r.run = ? ORDER BY r.reading_id""",
        (first, last, run),
    )
    while chunk := rows.fetchmany(at_once):
        yield chunk


def span_of(connection: sqlite3.Connection, run: int) -> tuple[int, int]:
    """The reading_id of the first and of the last reading of a run; 1 and 0 where it has none."""
    first, last = connection.execute(_SPAN, (run,)).fetchone()
    return (1, 0) if first is None else (first, last)


class Judge:
    """What the readings of one run are worth. Meaning as in `schema`.

    Raises StoreError when there is no such run.
    """

    def __init__(self, connection: sqlite3.Connection, path: Path, run: int) -> None:
        (reference,) = row_of_run(connection, path, "SELECT reference FROM runs WHERE run = ?", run)
        self.zero_mm = _ZeroMm(nan if reference == "first" else 0.0)
        """By block and round, what their readings count from; nan where that is not known."""
        if reference != "previous":
            for block, round_, zero_mm, _ in connection.execute(_ZEROS, (run,)):
                self.zero_mm[block, round_] = zero_mm
        self.zeros = {reading_id for (reading_id,) in connection.execute(_ZERO_IDS, (run,))}
        """The reading_id of each zero."""
        self.voids: dict[int, str] = {
            reading_id: reason for reading_id, reason, _ in connection.execute(_VOIDS, (run,))
        }
        """By reading_id, why it does not count."""


def relative_mm(values_mm: Iterable[float], zeros_mm: Iterable[float]) -> list[float]:
    """Values less what each counts from."""
    return [
        (((value - zero) * 1e9 + WHOLE) - WHOLE) / 1e9
        for value, zero in zip(values_mm, zeros_mm, strict=True)
    ]


class _ZeroMm(dict[BlockAndRound, float]):
    """The zero of each block and round."""

    def __init__(self, where_none_was_taken: float) -> None:
        self._where_none_was_taken = where_none_was_taken

    def __missing__(self, place: BlockAndRound) -> float:
        return self._where_none_was_taken
