"""What the page shows that the desk does not know: readings on record, and stopped runs."""

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from hostctl.records import Place
from hostctl.store.reading import list_runs, read_record
from hostctl.store.rows import RunSummary, StoredReading

STOPPED_SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class StoppedRun:
    """A run that ended before its last trial and can be gone on with."""

    run: int
    study: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lately:
    """One machine's last block on record, oldest reading first, and its stopped runs."""

    readings_mm: tuple[float, ...] = ()  # relative to the block's zero where there is one
    resolution_mm: float | None = None
    whose: str = ""  # method, operator and point
    stopped: tuple[StoppedRun, ...] = ()
    took_min: Mapping[str, int] = field(default_factory=dict)  # each study's last complete run


Recent = Callable[[str], Awaitable[Lately]]
"""Given a machine's name. Raises StoreError when the database can't be read."""


async def nothing_on_record(machine: str) -> Lately:
    """Where there is no database."""
    return Lately()


def recent_from(database: Path) -> Recent:
    """Looks it up in this database, in a thread of its own."""

    async def recent(machine: str) -> Lately:
        return await asyncio.to_thread(read_lately, database, machine)

    return recent


def read_lately(database: Path, machine: str) -> Lately:
    """What this database holds of the machine's last run, and which of its runs stopped.

    Raises StoreError when the database is there and can't be read.
    """
    if not database.exists():
        return Lately()
    runs = [one for one in list_runs(database) if one.new.machine == machine]
    return _lately(runs, read_record(database, runs[-1].run).readings) if runs else Lately()


def _lately(runs: list[RunSummary], readings: list[StoredReading]) -> Lately:
    """runs: the machine's, the oldest first. readings: of the last of them."""
    last = _last_block(readings)
    return Lately(
        readings_mm=tuple(_shown(one) for one in last if not one.kept.is_zero),
        resolution_mm=last[-1].kept.reading.resolution_mm if last else None,
        whose=whose(last[-1].kept.place) if last else "",
        stopped=tuple(_stopped(one) for one in reversed(runs) if _can_go_on(one))[:STOPPED_SHOWN],
        took_min={one.new.study: _minutes(one) for one in runs if one.complete and one.ended_at},
    )


def _minutes(run: RunSummary) -> int:
    assert run.ended_at is not None
    return max(1, round((run.ended_at - run.new.started_at).total_seconds() / 60))


def _last_block(readings: list[StoredReading]) -> list[StoredReading]:
    """What counts of the block that was read last."""
    counting = [one for one in readings if one.void is None]
    if not counting:
        return []
    block = counting[-1].kept.place.block
    return [one for one in counting if one.kept.place.block == block]


def _shown(one: StoredReading) -> float:
    return one.kept.reading.value_mm if one.relative_mm is None else one.relative_mm


def whose(place: Place) -> str:
    """`paper-slip · volunteer-a · front-left`: whose block it is."""
    return " · ".join(name for name in (place.method, place.operator, place.point) if name)


def _can_go_on(run: RunSummary) -> bool:
    return not run.complete


def _stopped(run: RunSummary) -> StoppedRun:
    reason = run.end_reason or "it broke off"
    return StoppedRun(run=run.run, study=run.new.study, reason=reason)
