"""Looks: that a verdict was given on the readings of some runs, as they stood. Kept for good.

Who judges readings again and again until a verdict pleases is misled more often than the verdict
says. So each look is an event of every run whose readings were judged, and whoever judges next
knows how many there were. The same readings judged again are the same look.
"""

import json
import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from hostctl.store.file.connection import connect_to_add
from hostctl.store.file.failure import in_users_words
from hostctl.store.mapping import EVENT_COLUMNS, event_row, insert_into
from hostctl.store.reading import reading_from_database
from hostctl.store.rows import VERDICT_GIVEN, NewEvent

BUSY_S = 1.0
"""How long a look waits for another program that writes; somebody waits for the answer."""

_LOOKS = "SELECT data FROM events WHERE run = ? AND kind = ? ORDER BY event_id"
_ADD_EVENT = insert_into("events", EVENT_COLUMNS)


@dataclass(frozen=True, slots=True, order=True)
class Seen:
    """How far a run had come when it was judged: its readings on record, and how many are void."""

    run: int
    readings: int
    void: int


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptLook:
    """One look on record. number: from 1; declared: how many in all, None where nobody said so.

    spent, share: of the risk, by earlier looks and by this one.
    """

    seen: frozenset[Seen]
    number: int
    declared: int | None
    spent: float
    share: float


def read_looks(path: Path, runs: Iterable[int]) -> dict[int, list[KeptLook]]:
    """The looks at each run, oldest first. Raises StoreError when they can't be read."""
    with reading_from_database(path) as connection:
        return {run: _looks_of(connection, run) for run in runs}


def keep_look(path: Path, look: KeptLook, at: datetime) -> None:
    """Add it to each of its runs, unless it is there. Raises StoreError when it can't be."""
    with closing(connect_to_add(path, busy_s=BUSY_S)) as connection:
        try:
            connection.execute("BEGIN IMMEDIATE")
            connection.executemany(_ADD_EVENT, _rows(connection, look, at))
            connection.execute("COMMIT")
        except sqlite3.Error as cause:
            raise in_users_words(path, cause) from cause


def _rows(connection: sqlite3.Connection, look: KeptLook, at: datetime) -> list[tuple[Any, ...]]:
    runs = sorted(seen.run for seen in look.seen)
    data, text = json.dumps(_plain(look)), f"look {look.number}"
    return [
        event_row(NewEvent(run=run, at=at, kind=VERDICT_GIVEN, text=text, data=data))
        for run in runs
        if all(kept.seen != look.seen for kept in _looks_of(connection, run))
    ]


def _looks_of(connection: sqlite3.Connection, run: int) -> list[KeptLook]:
    rows: Sequence[tuple[str]] = connection.execute(_LOOKS, (run, VERDICT_GIVEN)).fetchall()
    return [_look(json.loads(data)) for (data,) in rows]


def _plain(look: KeptLook) -> dict[str, Any]:
    return {
        "seen": [[one.run, one.readings, one.void] for one in sorted(look.seen)],
        "look": look.number,
        "declared": look.declared,
        "spent_before": look.spent,
        "share": look.share,
    }


def _look(data: dict[str, Any]) -> KeptLook:
    return KeptLook(
        seen=frozenset(Seen(*one) for one in data["seen"]),
        number=data["look"],
        declared=data["declared"],
        spent=data["spent_before"],
        share=data["share"],
    )
