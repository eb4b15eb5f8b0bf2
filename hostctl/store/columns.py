"""A run as columns, for the maths: a million readings in about a second, 26 bytes each.

No numpy here: it shares an array's memory, so `numpy.asarray(columns.value_mm)` copies nothing.
"""

import sqlite3
from array import array
from bisect import bisect_left
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol, TypeVar

from hostctl.store.judging import Judge, readings_of, relative_mm, span_of
from hostctl.store.reading import reading_from_database

Value = TypeVar("Value", covariant=True)

_ROWS_AT_ONCE = 256  # few enough that the garbage collector has no reason to look at them
_STORED = "r.value_mm, r.trial, r.block << 32 | r.round, r.point"  # each costs a tenth of the time
_GROUP = """SELECT method, operator FROM readings
    WHERE run = ? AND block = ? AND round = ? LIMIT 1"""
_IDS = "SELECT reading_id FROM readings WHERE run = ? ORDER BY reading_id"


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The readings of one block and round at a point: they share method, operator and zero."""

    block: int
    round: int
    method: str
    operator: str
    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """The readings of a run in the order stored, one item each in each array."""

    value_mm: "array[float]" = field(default_factory=lambda: array("d"))
    relative_mm: "array[float]" = field(default_factory=lambda: array("d"))  # nan: no zero
    group: "array[int]" = field(default_factory=lambda: array("i"))  # which of `groups`
    trial: "array[int]" = field(default_factory=lambda: array("i"))
    is_zero: "array[int]" = field(default_factory=lambda: array("b"))  # 0 or 1
    void: "array[int]" = field(default_factory=lambda: array("b"))  # 1: does not count
    groups: list[Group] = field(default_factory=list)


def read_columns(path: Path, run: int) -> Columns:
    """The readings of a run. Raises StoreError when it can't be read or there is no such run."""
    with reading_from_database(path) as connection:
        return columns_of(connection, run, Judge(connection, path, run))


def columns_of(connection: sqlite3.Connection, run: int, judge: Judge) -> Columns:
    """The same, over a connection that reads more than these."""
    columns = Columns()
    group_of = _GroupOf(connection, run, judge, columns.groups)
    for chunk in readings_of(connection, run, _STORED, _ROWS_AT_ONCE):
        value_mm, trial, place, point = zip(*chunk, strict=True)
        group = group_of.each(place, point)
        zero_mm = _of_each(group_of.zeros_mm, group)
        columns.value_mm.extend(array("d", value_mm))
        columns.relative_mm.extend(array("d", relative_mm(value_mm, zero_mm)))
        columns.group.extend(array("i", group))
        columns.trial.extend(array("i", trial))
    reading_ids = _ids(connection, run, len(columns.trial))
    columns.is_zero.extend(_flags(reading_ids, judge.zeros))
    columns.void.extend(_flags(reading_ids, judge.voids))
    return columns


class _Known(Protocol[Value]):
    def __getitem__(self, key: int, /) -> Value: ...


def _of_each(known: _Known[Value], keys: Sequence[int]) -> Sequence[Value]:
    """What is known under each key; mostly all keys of a chunk are the same."""
    if keys.count(keys[0]) == len(keys):
        return (known[keys[0]],) * len(keys)
    return tuple(map(known.__getitem__, keys))


def _ids(connection: sqlite3.Connection, run: int, count: int) -> Sequence[int]:
    """The reading_id of each reading; without a gap where no other run recorded meanwhile."""
    first, last = span_of(connection, run)
    if last - first + 1 == count:
        return range(first, last + 1)
    return array("q", (reading_id for (reading_id,) in connection.execute(_IDS, (run,))))


def _flags(reading_ids: Sequence[int], flagged: Collection[int]) -> "array[int]":
    """1 for each reading that is flagged, 0 for the others."""
    flags = array("b", bytes(len(reading_ids)))
    for reading_id in flagged:
        flags[bisect_left(reading_ids, reading_id)] = 1
    return flags


class _GroupOf(dict[tuple[int, str], int]):
    """From block and round, in one number, and point to a place in `groups`, as they turn up."""

    def __init__(
        self, connection: sqlite3.Connection, run: int, judge: Judge, groups: list[Group]
    ) -> None:
        self.zeros_mm: list[float] = []  # by group, what its readings count from
        self._connection = connection
        self._run = run
        self._judge = judge
        self._groups = groups

    def each(self, places: Sequence[int], points: Sequence[str]) -> Sequence[int]:
        """Of each reading of a chunk; mostly all have the same."""
        if {places.count(places[0]), points.count(points[0])} == {len(places)}:
            return (self[places[0], points[0]],) * len(places)
        return tuple(map(self.__getitem__, zip(places, points, strict=True)))

    def __missing__(self, key: tuple[int, str]) -> int:
        place, point = key
        block, round_ = divmod(place, 1 << 32)
        of = (self._run, block, round_)
        (method, operator) = self._connection.execute(_GROUP, of).fetchone()
        self._groups.append(
            Group(block=block, round=round_, method=method, operator=operator, point=point)
        )
        self.zeros_mm.append(self._judge.zero_mm[block, round_])
        self[key] = len(self._groups) - 1
        return self[key]
