"""A run as columns, for the maths: a million readings in a second and few bytes each.

No numpy here: `array` and numpy share the buffer, so `numpy.frombuffer(columns.value_mm)` copies
nothing (`numpy.asarray` neither).
"""

import sqlite3
from array import array
from dataclasses import dataclass, field
from math import inf, nan
from pathlib import Path

from hostctl.store.judging import judged
from hostctl.store.reading import read_summary, reading_from_database

_ROWS_AT_ONCE = 1000
_GROUP_KEY_FACTOR = 1 << 20  # rounds in a block stay far below
_EXPRESSIONS = f"""r.value_mm, ifnull({{relative_mm}}, 9e999),
    r.block * {_GROUP_KEY_FACTOR} + r.round, r.trial, r.is_zero, v.reading_id IS NOT NULL"""
_GROUP = """SELECT block, round, method, operator, point FROM readings
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
        read_summary(connection, path, run)
        group_of = _GroupOf(connection, run, columns.groups)
        rows = judged(connection, run, _EXPRESSIONS)
        while chunk := rows.fetchmany(_ROWS_AT_ONCE):
            value_mm, relative_mm, key, trial, is_zero, void = zip(*chunk, strict=True)
            columns.value_mm.extend(array("d", value_mm))
            columns.relative_mm.extend(array("d", _nan_for_none(relative_mm)))
            columns.group.extend(array("i", tuple(map(group_of.__getitem__, key))))
            columns.trial.extend(array("i", trial))
            columns.is_zero.extend(array("b", is_zero))
            columns.void.extend(array("b", void))
    return columns


class _GroupOf(dict[int, int]):
    """From block and round, as one number, to a place in `groups`; filled as they turn up."""

    def __init__(self, connection: sqlite3.Connection, run: int, groups: list[Group]) -> None:
        self._connection = connection
        self._run = run
        self._groups = groups

    def __missing__(self, key: int) -> int:
        place = (self._run, *divmod(key, _GROUP_KEY_FACTOR))
        block, round_, method, operator, point = self._connection.execute(_GROUP, place).fetchone()
        self._groups.append(
            Group(block=block, round=round_, method=method, operator=operator, point=point)
        )
        self[key] = len(self._groups) - 1
        return self[key]


def _nan_for_none(relative_mm: tuple[float, ...]) -> tuple[float, ...]:
    """SQLite has no NaN: infinity stands in for it."""
    if inf in relative_mm:
        return tuple(nan if value == inf else value for value in relative_mm)
    return relative_mm
