"""Where readings come from and how they were taken: all that others need to reckon them again.

What an analysis works on is its `Material`. A report tells more: every reading, void ones and
zeros included, and how the run was done.
"""

import sqlite3
from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from math import nan
from pathlib import Path

from hostctl.records import TIE_METHOD
from hostctl.report.sources.material import Material
from hostctl.report.sources.run_material import material_of
from hostctl.report.sources.tie_record import Spot, doubted_spots
from hostctl.store.columns import Columns, columns_of
from hostctl.store.judging import Judge, readings_of
from hostctl.store.reading import read_events, read_marks, read_summary, reading_from_database
from hostctl.store.rows import ANSWERED, NewEvent, NewMark, RunSummary

COUNTS = -1
"""In the column `void`: the reading counts."""

_AT_ONCE = 256
_OF_TIES = "SELECT resolution_mm FROM readings WHERE run = ? AND method = ? ORDER BY reading_id"
_WITH_EACH = """r.reading_id, r.attempt, r.nozzle_c, r.bed_c,
    CAST(round((julianday(r.taken_at) - 2440587.5) * 86400000.0) AS INTEGER)"""  # since 1970


@dataclass(frozen=True, slots=True, kw_only=True)
class RowGroup:
    """The readings of one block and round at one point: they share all of this, and their zero.

    workshop: as in `Block`.
    """

    block: int
    round: int
    method: str
    operator: str
    point: str
    workshop: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Every reading, one item in each array, in the order stored.

    group: which of `groups`.  trial, attempt: numbered from 1, a zero's trial from 0.
    is_zero: 1 for a block's zero, else 0.  value_mm: as the gauge gave it.
    relative_mm: less the zero of its block and round; nan where there is none to count from.
    void: why it does not count, as a place in `voids`; COUNTS where it does.
    taken_at_ms: since 1970-01-01 UTC.  nozzle_c, bed_c: nan where the machine did not say.
    These three are None of a file, which tells none of them.
    tie_resolution_mm: of each reading of a tie, in the order stored.
    """

    groups: tuple[RowGroup, ...]
    group: "array[int]"
    trial: "array[int]"
    attempt: "array[int]"
    is_zero: "array[int]"
    value_mm: "array[float]"
    relative_mm: "array[float]"
    void: "array[int]"
    voids: tuple[str, ...]
    taken_at_ms: "array[int] | None"
    nozzle_c: "array[float] | None"
    bed_c: "array[float] | None"
    tie_resolution_mm: "array[float]" = field(default_factory=lambda: array("d"))

    def __len__(self) -> int:
        return len(self.value_mm)

    @property
    def of_ties(self) -> list[int]:
        """The places of readings of ties."""
        of_tie = [group.method == TIE_METHOD for group in self.groups]
        return [at for at, group in enumerate(self.group) if of_tie[group]] if any(of_tie) else []


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """How one run was done. The texts are the whole files, as they were kept with it.

    ended_at: None while it goes on.  program: that recorded it.
    events: but for the answers to prompts, of which readings and marks have what came of them.
    """

    run: int
    study: str
    title: str
    kind: str
    machine: str
    study_text: str
    machine_text: str
    seed: int
    started_at: datetime
    ended_at: datetime | None
    complete: bool
    end_reason: str
    program: str
    marks: tuple[NewMark, ...]
    events: tuple[NewEvent, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourced:
    """One source: what is analysed of it, how it was done, and every reading of it.

    account: None of a file.
    """

    material: Material
    account: Account | None
    rows: Rows

    @property
    def doubted(self) -> frozenset[Spot]:
        """The readings between the last good check of a tie and one that found that it moved."""
        return doubted_spots(self.account.events if self.account is not None else ())


def sourced_run(database: Path, run: int) -> Sourced:
    """A run on record, all of one state of the database.

    Raises StoreError; NothingCounts where no reading does.
    """
    with reading_from_database(database) as connection:
        judge = Judge(connection, database, run)
        summary = read_summary(connection, database, run)
        columns = columns_of(connection, run, judge)
        events = read_events(connection, run)
        return Sourced(
            material=material_of(connection, summary, judge, columns, events),
            account=_account(summary, read_marks(connection, run), events),
            rows=_rows(connection, run, columns, judge),
        )


def sourced_material(material: Material) -> Sourced:
    """Readings of a file: they count as they stand, and nothing more is known of them."""
    lengths = [len(block.values_mm) for block in material.blocks]
    values = array("d", (float(value) for b in material.blocks for value in b.values_mm))
    return Sourced(
        material=material,
        account=None,
        rows=Rows(
            groups=tuple(
                RowGroup(
                    block=number,
                    round=1,
                    method=block.method,
                    operator=block.operator,
                    point=block.point,
                    workshop=block.workshop,
                )
                for number, block in enumerate(material.blocks, start=1)
            ),
            group=array("i", (at for at, many in enumerate(lengths) for _ in range(many))),
            trial=array("i", (trial for many in lengths for trial in range(1, many + 1))),
            attempt=array("i", [1]) * len(values),
            is_zero=array("b", [0]) * len(values),
            value_mm=values,
            relative_mm=values,
            void=array("i", [COUNTS]) * len(values),
            voids=(),
            taken_at_ms=None,
            nozzle_c=None,
            bed_c=None,
        ),
    )


def of_workshop(sourced: Sourced, workshop: str) -> Sourced:
    """The same, its readings said to be of that workshop, but for those of which one is said."""
    blocks, groups = sourced.material.blocks, sourced.rows.groups
    return replace(
        sourced,
        material=replace(
            sourced.material,
            blocks=tuple(replace(one, workshop=one.workshop or workshop) for one in blocks),
        ),
        rows=replace(
            sourced.rows,
            groups=tuple(replace(one, workshop=one.workshop or workshop) for one in groups),
        ),
    )


def _account(summary: RunSummary, marks: Sequence[NewMark], events: Iterable[NewEvent]) -> Account:
    new = summary.new
    return Account(
        run=summary.run,
        study=new.study,
        title=new.title,
        kind=new.kind,
        machine=new.machine,
        study_text=new.study_text,
        machine_text=new.machine_text,
        seed=new.seed,
        started_at=new.started_at,
        ended_at=summary.ended_at,
        complete=summary.complete,
        end_reason=summary.end_reason,
        program=new.program,
        marks=tuple(marks),
        events=tuple(event for event in events if event.kind != ANSWERED),
    )


def _rows(connection: sqlite3.Connection, run: int, columns: Columns, judge: Judge) -> Rows:
    voids = tuple(dict.fromkeys(judge.voids.values()))
    place = {reason: at for at, reason in enumerate(voids)}
    void_at = {reading_id: place[reason] for reading_id, reason in judge.voids.items()}
    attempt, void, taken_at_ms = array("i"), array("i"), array("q")
    nozzle_c, bed_c = array("d"), array("d")
    for chunk in readings_of(connection, run, _WITH_EACH, _AT_ONCE):
        ids, attempts, nozzles_c, beds_c, taken = zip(*chunk, strict=True)
        attempt.extend(attempts)
        void.extend(void_at.get(reading_id, COUNTS) for reading_id in ids)
        nozzle_c.extend(nan if celsius is None else celsius for celsius in nozzles_c)
        bed_c.extend(nan if celsius is None else celsius for celsius in beds_c)
        taken_at_ms.extend(taken)
    return Rows(
        groups=tuple(
            RowGroup(
                block=group.block,
                round=group.round,
                method=group.method,
                operator=group.operator,
                point=group.point,
            )
            for group in columns.groups
        ),
        group=columns.group,
        trial=columns.trial,
        attempt=attempt,
        is_zero=columns.is_zero,
        value_mm=columns.value_mm,
        relative_mm=columns.relative_mm,
        void=void,
        voids=voids,
        taken_at_ms=taken_at_ms,
        nozzle_c=nozzle_c,
        bed_c=bed_c,
        tie_resolution_mm=array(
            "d", (mm for (mm,) in connection.execute(_OF_TIES, (run, TIE_METHOD)))
        ),
    )
