"""A run as columns, for the maths: a million readings in about a second, 26 bytes each.

No numpy here: it shares an array's memory, so `numpy.asarray(columns.value_mm)` copies nothing.
"""

import sqlite3
from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from hostctl.store.judging import BlockAndRound, Judge, readings_of, relative_mm
from hostctl.store.reading import reading_from_database

Value = TypeVar("Value", int, float)

_ROWS_AT_ONCE = 256  # few enough that the garbage collector has no reason to look at them
_STORED = "r.reading_id, r.value_mm, r.block, r.round, r.trial"
_GROUP = """SELECT method, operator, point FROM readings
    WHERE run = ? AND block = ? AND round = ? LIMIT 1"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The readings of one block and round: they share method, operator, point and zero."""

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
    columns = Columns()
    with reading_from_database(path) as connection:
        judge = Judge(connection, path, run)
        group_of = _GroupOf(connection, run, columns.groups)
        zeros, voids = sorted(judge.zeros), sorted(judge.voids)
        for chunk in readings_of(connection, run, _STORED, _ROWS_AT_ONCE):
            reading_id, value_mm, block, round_, trial = zip(*chunk, strict=True)
            zeros_mm = _of_each(judge.zero_mm, block, round_)
            columns.value_mm.extend(array("d", value_mm))
            columns.relative_mm.extend(array("d", relative_mm(value_mm, zeros_mm)))
            columns.group.extend(array("i", _of_each(group_of, block, round_)))
            columns.trial.extend(array("i", trial))
            columns.is_zero.extend(_flags(reading_id, zeros))
            columns.void.extend(_flags(reading_id, voids))
    return columns


def _of_each(
    known: Mapping[BlockAndRound, Value], block: Sequence[int], round_: Sequence[int]
) -> Sequence[Value]:
    """What is known of the block and round of each row; mostly all rows are of the same."""
    rows = len(block)
    if block.count(block[0]) == round_.count(round_[0]) == rows:
        return (known[block[0], round_[0]],) * rows
    return tuple(map(known.__getitem__, zip(block, round_, strict=True)))


def _flags(reading_ids: Sequence[int], flagged: Sequence[int]) -> "array[int]":
    """1 for each reading that is flagged, 0 for the others; both are in order, flagged ones few."""
    flags = array("b", bytes(len(reading_ids)))
    first = bisect_left(flagged, reading_ids[0])
    for reading_id in flagged[first : bisect_right(flagged, reading_ids[-1])]:
        flags[bisect_left(reading_ids, reading_id)] = 1
    return flags


class _GroupOf(dict[BlockAndRound, int]):
    """From block and round to a place in `groups`, which is filled as they turn up."""

    def __init__(self, connection: sqlite3.Connection, run: int, groups: list[Group]) -> None:
        self._connection = connection
        self._run = run
        self._groups = groups

    def __missing__(self, place: BlockAndRound) -> int:
        block, round_ = place
        (method, operator, point) = self._connection.execute(_GROUP, (self._run, *place)).fetchone()
        self._groups.append(
            Group(block=block, round=round_, method=method, operator=operator, point=point)
        )
        self[place] = len(self._groups) - 1
        return self[place]
