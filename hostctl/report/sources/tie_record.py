"""What was recorded of the ties of a run: from the database, or out of a report."""

import json
import sqlite3
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any, NamedTuple, Protocol

from hostctl.records import TIE_METHOD, TieContact
from hostctl.report.sources.tied import Observed
from hostctl.store.columns import Columns
from hostctl.store.rows import PLUNGER_SIGN, TIE_CHECKED, TIE_CONTACT, NewEvent

_BESIDE = """SELECT resolution_mm, taken_at, bed_c FROM readings
    WHERE run = ? AND method = ? ORDER BY reading_id"""
_BED = "SELECT min(bed_c), max(bed_c) FROM readings WHERE run = ? AND method <> ?"


_SLACK = {
    "feelers": ("blade_error_mm", "feel_mm"),
    "gauge-block": ("block_error_mm", "feel_mm"),
}
"""By what a tie is made, the keys that say how far what lies under the nozzle may be wrong."""

DOUBTED = "since the last good check of the tie"
"""What is noted beside a reading of which `doubted_spots` tells."""

Spot = tuple[int, int, int, int]
"""Block, round, trial, attempt of a reading."""


class NoTie(ValueError):
    """Why no tie stands behind the readings, as the end of a sentence."""


class Named(Protocol):
    """The readings of one block and round."""

    @property
    def block(self) -> int: ...
    @property
    def round(self) -> int: ...
    @property
    def method(self) -> str: ...
    @property
    def operator(self) -> str: ...
    @property
    def point(self) -> str: ...


class Counting(NamedTuple):
    """A reading that counts, as it was read. row: which of all, in the order stored, from 0."""

    row: int
    group: int
    trial: int
    value_mm: float


class TieReading(NamedTuple):
    """The same of a tie, with what only ties need."""

    row: int
    group: int
    trial: int
    value_mm: float
    resolution_mm: float
    taken_at: datetime | None
    bed_c: float | None


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """What was recorded of a run that ties its readings to the nozzle.

    study: the study's file as plain data.  groups: what readings share, settings and ties.
    ties: readings of ties that count, in the order stored.  settings: the rows of those of settings
    that count, rising.  events: in the order kept.
    settings_bed_c: how warm the bed was at the settings, from and to; None: not known.
    """

    study: Mapping[str, Any]
    groups: Sequence[Named]
    ties: Sequence[TieReading]
    settings: Sequence[int]
    events: Sequence[NewEvent]
    settings_bed_c: tuple[float, float] | None

    @cached_property
    def sign(self) -> float:
        """1 where the number grows as the plunger is pressed in, else -1. Raises NoTie."""
        said = [event for event in self.events if event.kind == PLUNGER_SIGN]
        if not said:
            raise NoTie("nobody said which way the number goes as the plunger is pressed in")
        return 1.0 if json.loads(said[-1].data)["grows_pressed"] else -1.0

    @property
    def slack_mm(self) -> float:
        """How far the blades, or the block, and the feel of them may be wrong, plus or minus."""
        tie: Mapping[str, Any] = self.study.get("tie") or {}
        keys = _SLACK.get(str(tie.get("by")), ())
        return sum((float(tie.get(key) or 0.0) for key in keys), start=0.0)

    @cached_property
    def observed(self) -> tuple[Observed, ...]:
        """One for each tie reading whose contact is on record. Raises NoTie."""
        contacts = self._contacts
        pairs = ((reading, contacts.get(self._spot(reading))) for reading in self.ties)
        return tuple(
            _observed(reading, contact, self.groups[reading.group], self)
            for reading, contact in pairs
            if contact is not None
        )

    @cached_property
    def checks(self) -> tuple[dict[str, Any], ...]:
        """The data of each, in order."""
        return tuple(_checks(self.events))

    @property
    def doubted(self) -> set[tuple[int, int, int]]:
        """Block, round and trial of the readings that `doubted_spots` names."""
        return {(block, round_, trial) for block, round_, trial, _ in doubted_spots(self.events)}

    @property
    def unchecked(self) -> int:
        """How many settings were read after the last tie or check."""
        last = self.ties[-1].row if self.ties else -1
        return len(self.settings) - self.settings_before(last)

    def settings_before(self, row: int) -> int:
        """How many settings that count were read before this row."""
        return bisect_left(self.settings, row)

    def first_row(self, block: int) -> int | None:
        """The row of the first reading of a tie, or of a check; None where none of it counts."""
        rows = (one.row for one in self.ties if self.groups[one.group].block == block)
        return next(rows, None)

    @cached_property
    def _contacts(self) -> dict[tuple[int, int, int], dict[str, Any]]:
        """The last of each place: an attempt before it was done again."""
        found = {}
        for event in self.events:
            if event.kind == TIE_CONTACT:
                data = json.loads(event.data)
                found[data["block"], data["round"], data["trial"]] = data
        return found

    def _spot(self, reading: TieReading) -> tuple[int, int, int]:
        group = self.groups[reading.group]
        return group.block, group.round, reading.trial


def _observed(
    reading: TieReading, contact: Mapping[str, Any], group: Named, of: Recorded
) -> Observed:
    """Between which values it says that the constant lies."""
    touched = TieContact.from_data({"by": "", **contact})
    low_mm, high_mm = touched.constant_mm(reading, grows_pressed=of.sign > 0)
    return Observed(
        low_mm=low_mm - of.slack_mm,
        high_mm=high_mm + of.slack_mm,
        point=group.point,
        block=group.block,
        taken_at=reading.taken_at,
        bed_c=reading.bed_c,
    )


def doubted_spots(events: Iterable[NewEvent]) -> frozenset[Spot]:
    """The readings between the last good check of a tie and one that found that it had moved."""
    moved = (data["doubted"] for data in _checks(events) if data["moved"])
    return frozenset(
        (block, round_, trial, attempt) for each in moved for block, round_, trial, attempt in each
    )


def _checks(events: Iterable[NewEvent]) -> Iterator[dict[str, Any]]:
    """The data of each, in order."""
    return (json.loads(one.data) for one in events if one.kind == TIE_CHECKED)


def is_of_tie(group: Named) -> bool:
    """Whether these readings are of a tie, and so no settings."""
    return group.method == TIE_METHOD


def ties_of_run(
    connection: sqlite3.Connection,
    run: int,
    columns: Columns,
    events: Sequence[NewEvent],
    study: Mapping[str, Any],
) -> Recorded:
    """Of a run in the database, of which these columns and events were read."""
    of_tie = [is_of_tie(group) for group in columns.groups]
    rows = list(counting_rows(columns))
    beside = connection.execute(_BESIDE, (run, TIE_METHOD))
    known = dict(
        zip((row for row, at in enumerate(columns.group) if of_tie[at]), beside, strict=True)
    )
    return Recorded(
        study=study,
        groups=columns.groups,
        ties=tuple(_tie_reading(one, known[one.row]) for one in rows if of_tie[one.group]),
        settings=tuple(one.row for one in rows if not of_tie[one.group]),
        events=events,
        settings_bed_c=_bed_c(connection, run),
    )


def counting_rows(columns: Columns) -> Iterator[Counting]:
    """Those that count, settings and ties, in the order stored."""
    each = zip(columns.group, columns.trial, columns.value_mm, columns.void, strict=True)
    for row, (group, trial, value_mm, void) in enumerate(each):
        if not void:
            yield Counting(row, group, trial, value_mm)


def _tie_reading(counting: Counting, beside: tuple[float, str, float | None]) -> TieReading:
    resolution_mm, taken_at, bed_c = beside
    return TieReading(*counting, resolution_mm, datetime.fromisoformat(taken_at), bed_c)


def _bed_c(connection: sqlite3.Connection, run: int) -> tuple[float, float] | None:
    low_c, high_c = connection.execute(_BED, (run, TIE_METHOD)).fetchone()
    return None if low_c is None else (low_c, high_c)
