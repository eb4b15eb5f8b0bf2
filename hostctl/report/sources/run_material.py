"""A run on record as material for an analysis; a million readings are no list of objects."""

import sqlite3
from array import array
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import isnan
from pathlib import Path
from typing import Any, cast

from hostctl.config.study_kind import words_of
from hostctl.errors import ConfigError, DataError
from hostctl.metrology.basis.estimate import Readings
from hostctl.metrology.basis.reference import Reference
from hostctl.records import TIE_METHOD
from hostctl.report.sources.datum import has_own_zeros, is_zero_known
from hostctl.report.sources.failed_touches import failed_touches
from hostctl.report.sources.material import Block, Goal, Material
from hostctl.store.columns import Columns, Group, columns_of
from hostctl.store.judging import Judge
from hostctl.store.looks import Seen
from hostctl.store.reading import read_events, read_marks, read_summary, reading_from_database
from hostctl.store.rows import NewEvent, NewMark, NewRun, RunSummary

GAP = "gap"
"""What readings are relative to that a tie makes gaps; see `gaps`."""

FINER = "Some readings are finer"
"""How a note begins that is not so where two gauges read, each to its own."""

_MANY = 20_000  # readings from which arrays pay


class NothingCounts(DataError):
    """A run of which no reading counts yet. title: of the run."""

    def __init__(self, name: str, title: str) -> None:
        super().__init__(name, "no reading of it counts yet", "Carry the run on first.")
        self.title = title


def run_material(path: Path, run: int) -> Material:
    """A run's readings that count. Raises StoreError; NothingCounts where none does."""
    with reading_from_database(path) as connection:
        judge = Judge(connection, path, run)
        return material_of(
            connection,
            read_summary(connection, path, run),
            judge,
            columns_of(connection, run, judge),
            read_events(connection, run),
        )


def material_of(
    connection: sqlite3.Connection,
    summary: RunSummary,
    judge: Judge,
    columns: Columns,
    events: Sequence[NewEvent],
) -> Material:
    """The same, of what was read of it over this connection. Raises NothingCounts."""
    run = summary.run
    marks = read_marks(connection, run)
    failed = failed_touches(events, summary.readings)
    left_out = _left_out(judge) if summary.void else []
    widest = connection.execute(
        "SELECT max(resolution_mm), min(resolution_mm) FROM readings WHERE run = ?", (run,)
    ).fetchone()
    new = summary.new
    if not words_of(new.kind).takes_zeros:
        new, columns = replace(new, reference="datum"), _as_they_stand(columns)
    values = _settings(new, columns)
    title = f"{new.title} · {new.study} on {new.machine}, {new.started_at:%Y-%m-%d %H:%M} UTC"
    if not values:
        raise NothingCounts(f"run {run}", title)
    coarse, fine = widest
    zeros_read = any(columns.is_zero)
    as_read = Material(
        name=f"run {run}",
        title=title,
        kind=new.kind,
        machine=new.machine,
        reference=cast(Reference, "datum" if new.reference == GAP else new.reference),
        zero_known=is_zero_known(new, zeros_read=zeros_read),
        own_zeros=has_own_zeros(new, zeros_read=zeros_read),
        resolution_mm=coarse,
        resolution_from="recorded with each reading",
        blocks=tuple(_block(columns.groups[at], found) for at, found in values),
        goal=study_goal(new),
        notes=(
            *_notes(summary, left_out, marks, len(set(widest)) > 1 and fine),
            *([failed] if failed is not None else []),
        ),
        seen=(Seen(run, summary.readings, summary.void),),
    )
    if new.reference != GAP:
        return as_read
    from hostctl.report.sources.gaps import as_gaps
    from hostctl.report.sources.tie_record import counting_rows, ties_of_run

    ties = ties_of_run(connection, run, columns, events, study_data(new))
    return as_gaps(as_read, ties, values, lambda: counting_rows(columns))


def _as_they_stand(columns: Columns) -> Columns:
    """Readings without a zero count as the gauge gave them."""
    both = zip(columns.value_mm, columns.relative_mm, strict=True)
    relative_mm = array("d", (value if isnan(less) else less for value, less in both))
    return replace(columns, relative_mm=relative_mm)


def _settings(new: NewRun, columns: Columns) -> list[tuple[int, Readings]]:
    """Readings that count, but for those of ties; of a study of ties alone these."""
    found = counting_values(columns)
    if new.reference != GAP or not words_of(new.kind).people_set:
        return found
    return [(at, values) for at, values in found if columns.groups[at].method != TIE_METHOD]


def study_data(new: NewRun) -> Mapping[str, Any]:
    """The study's file as plain data; empty where its text can't be read."""
    from hostctl.config.yaml_text import Source, parse

    try:
        study = parse(Source(new.study, new.study_text)).data
    except ConfigError:
        return {}
    return study if isinstance(study, dict) else {}


def study_goal(new: NewRun) -> Goal | None:
    """The tolerance of the study, from its text as it was kept; None where it named none."""
    if "tolerance" not in new.study_text:
        return None  # spares loading YAML
    tolerance = study_data(new).get("tolerance")
    if not isinstance(tolerance, dict):
        return None
    known = {name: float(tolerance[name]) for name in Goal.__slots__ if name in tolerance}
    return Goal(**known) if "within_mm" in known else None


def counting_values(columns: Columns) -> list[tuple[int, Readings]]:
    """The readings that count, each less its zero, with the place of their group; sorted by it."""
    return _of_many(columns) if len(columns.trial) > _MANY else _of_few(columns)


def _of_few(columns: Columns) -> list[tuple[int, Readings]]:
    values: dict[int, list[float]] = {}
    rows = zip(columns.group, columns.relative_mm, columns.is_zero, columns.void, strict=True)
    for group, value, is_zero, void in rows:
        if not is_zero and not void and value == value:  # NaN: no zero to count from
            values.setdefault(group, []).append(value)
    return sorted(values.items())


def _of_many(columns: Columns) -> list[tuple[int, Readings]]:
    import numpy as np

    group = np.frombuffer(columns.group, dtype=np.intc)
    value = np.frombuffer(columns.relative_mm, dtype=np.float64)
    flags = (np.frombuffer(a, dtype=np.int8) for a in (columns.is_zero, columns.void))
    counts = ~np.isnan(value)
    for flag in flags:
        counts &= flag == 0
    group, value = group[counts], value[counts]
    order = np.argsort(group, kind="stable")
    found, starts = np.unique(group[order], return_index=True)
    parts = np.split(value[order], starts[1:])
    return [(int(number), part) for number, part in zip(found, parts, strict=True)]


def _block(of: Group, values: Readings) -> Block:
    return Block(method=of.method, operator=of.operator, point=of.point, values_mm=values)


def _notes(
    summary: RunSummary, left_out: Sequence[str], marks: Sequence[NewMark], fine: float | bool
) -> Iterator[str]:
    if not summary.complete:
        reason = summary.end_reason or "it has not ended"
        yield f"The run is not complete ({reason}): this is what was read so far."
    if left_out:
        yield f"Left out, and kept on record: {', '.join(left_out)}."
    skipped = sum(mark.mark == "skipped" for mark in marks)
    if skipped:
        yield f"Trials skipped: {skipped}."
    if fine:
        yield f"{FINER} ({fine:g} mm) than the coarsest, which is used."


def _left_out(judge: Judge) -> list[str]:
    """What is void, for each reason: `2 readings and their zero (redo)`."""
    zeros = Counter(why for reading_id, why in judge.voids.items() if reading_id in judge.zeros)
    both = Counter(judge.voids.values())
    return [f"{_both(both[why] - zeros[why], zeros[why])} ({why})" for why in both]


def _both(readings: int, zeros: int) -> str:
    if not readings or not zeros:
        return _counted(readings, "reading") if readings else _counted(zeros, "zero")
    whose = "its" if readings == 1 else "their"
    which = "zero" if zeros == 1 else f"{zeros} zeros"
    return f"{_counted(readings, 'reading')} and {whose} {which}"


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"
