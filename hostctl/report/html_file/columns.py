"""The columns of the table of every reading: what is in each, and which there is a use for."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import isnan

from hostctl.report.document.blocks import Column
from hostctl.report.document.significant import in_mm
from hostctl.report.enclosed.sourced import COUNTS, RowGroup, Rows, Sourced
from hostctl.report.sources.tie_record import DOUBTED

ZERO, VOID = "zero", "void: "
_START = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Row:
    """One reading. place: in the table, from 1.  at: in the rows of its source.  doubted: whether
    it was read since the last good check of a tie that then had moved."""

    place: int
    source: Sourced
    at: int
    doubted: bool = False

    @property
    def rows(self) -> Rows:
        """All of its source."""
        return self.source.rows

    @property
    def group(self) -> RowGroup:
        """What it shares with the others of its block."""
        return self.rows.groups[self.rows.group[self.at]]


@dataclass(frozen=True, slots=True)
class ReadingColumn:
    """One column. key: by which the page's script knows it.  cell: as it is read.
    used: whether these sources have anything to say in it."""

    key: str
    column: Column
    cell: Callable[[Row], str]
    used: Callable[[Sequence[Sourced]], bool] = lambda _: True


def used_columns(sources: Sequence[Sourced]) -> tuple[ReadingColumn, ...]:
    """Those in which there is something to read."""
    return tuple(column for column in EVERY_COLUMN if column.used(sources))


def _taken(row: Row) -> str:
    taken = row.rows.taken_at_ms
    if taken is None:
        return ""
    return f"{_START + timedelta(milliseconds=taken[row.at]):%Y-%m-%d %H:%M:%S}"


def _degrees(values: Sequence[float] | None, at: int) -> str:
    return "" if values is None or isnan(values[at]) else f"{values[at]:.1f}"


def _said(row: Row) -> str:
    void = row.rows.void[row.at]
    said = [ZERO] if row.rows.is_zero[row.at] else []
    said += [DOUBTED] if row.doubted else []
    return ", ".join(said if void == COUNTS else [*said, f"{VOID}{row.rows.voids[void]}"])


def _value(row: Row) -> str:
    return in_mm(row.rows.value_mm[row.at], row.source.material.resolution_mm)


def _any(tells: Callable[[Rows], bool]) -> Callable[[Sequence[Sourced]], bool]:
    return lambda sources: any(tells(source.rows) for source in sources)


def _any_group(tells: Callable[[RowGroup], bool]) -> Callable[[Sequence[Sourced]], bool]:
    return _any(lambda rows: any(map(tells, rows.groups)))


def _any_known(values: Sequence[float] | None) -> bool:
    return values is not None and not all(map(isnan, values))


def _has_notes(source: Sourced) -> bool:
    rows = source.rows
    if any(rows.is_zero) or max(rows.void, default=COUNTS) > COUNTS:
        return True
    return bool(source.doubted)


def _number(head: str, unit: str = "") -> Column:
    return Column(head=head, unit=unit, is_number=True)


EVERY_COLUMN = (
    ReadingColumn("place", _number("no."), lambda row: str(row.place)),
    ReadingColumn(
        "of", Column(head="of"), lambda row: row.source.material.name, lambda all: len(all) > 1
    ),
    ReadingColumn(
        "workshop",
        Column(head="workshop"),
        lambda row: row.group.workshop,
        _any_group(lambda group: bool(group.workshop)),
    ),
    ReadingColumn(
        "round",
        _number("round"),
        lambda row: str(row.group.round),
        _any_group(lambda group: group.round != 1),
    ),
    ReadingColumn("block", _number("block"), lambda row: str(row.group.block)),
    ReadingColumn("method", Column(head="method"), lambda row: row.group.method),
    ReadingColumn(
        "operator",
        Column(head="operator"),
        lambda row: row.group.operator,
        _any_group(lambda group: bool(group.operator)),
    ),
    ReadingColumn(
        "point",
        Column(head="point"),
        lambda row: row.group.point,
        _any_group(lambda group: bool(group.point)),
    ),
    ReadingColumn("trial", _number("trial"), lambda row: str(row.rows.trial[row.at])),
    ReadingColumn(
        "attempt",
        _number("attempt"),
        lambda row: str(row.rows.attempt[row.at]),
        _any(lambda rows: max(rows.attempt, default=1) > 1),
    ),
    ReadingColumn("value", _number("reading", "mm"), _value),
    ReadingColumn(
        "said",
        Column(head="of note"),
        _said,
        lambda sources: any(map(_has_notes, sources)),
    ),
    ReadingColumn(
        "taken", Column(head="taken, UTC"), _taken, _any(lambda rows: rows.taken_at_ms is not None)
    ),
    ReadingColumn(
        "nozzle",
        _number("nozzle", "°C"),
        lambda row: _degrees(row.rows.nozzle_c, row.at),
        _any(lambda rows: _any_known(rows.nozzle_c)),
    ),
    ReadingColumn(
        "bed",
        _number("bed", "°C"),
        lambda row: _degrees(row.rows.bed_c, row.at),
        _any(lambda rows: _any_known(rows.bed_c)),
    ),
)
