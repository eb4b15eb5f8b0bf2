"""Runs in a database of their own, as a session keeps them."""

import asyncio
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from stored_rows import A_MARK, A_READING, A_RUN, NOON

from hostctl.report.sources.material import Block, Material
from hostctl.store.rows import NewEvent, NewMark, NewReading, NewRun
from hostctl.store.store import Store

ENDED = '{"complete": true}'


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRun:
    """A run to be kept. void: why a block does not count, by its place; skipped: how many trials.

    end: why it ended; None for a run that goes on.
    """

    new: NewRun
    blocks: Sequence[Block]
    resolution_mm: float = 0.01
    with_zeros: bool = True
    void: dict[int, str] | None = None
    skipped: int = 0
    end: str | None = "all trials are done"
    complete: bool = True


def a_run(kind: str = "comparison", reference: str = "first", **changes: str) -> NewRun:
    """A run of the machine `bench`."""
    return replace(
        A_RUN,
        study="small",
        title="A small study",
        kind=kind,
        reference=reference,
        machine="bench",
        study_text=changes.get("study_text", ""),
    )


def run_like(material: Material) -> KeptRun:
    """A run whose readings are these. A datum is a probe's own: no zeros are read."""
    goal = material.goal
    tolerance = f"tolerance: {{within_mm: {goal.within_mm!r}}}\n" if goal else ""
    return KeptRun(
        new=a_run(material.kind or "comparison", material.reference, study_text=tolerance),
        blocks=material.blocks,
        resolution_mm=material.resolution_mm,
        with_zeros=material.reference == "first",
    )


def keep(database: Path, *runs: KeptRun) -> None:
    """Write them, numbered from 1."""
    asyncio.run(_keep(database, runs))


async def _keep(database: Path, runs: Iterable[KeptRun]) -> None:
    async with Store.opened(database) as store:
        for kept in runs:
            run = await store.add_run(kept.new)
            await asyncio.gather(
                *(store.add_reading(reading) for reading in _readings(run, kept)),
                *(store.add_mark(mark) for mark in _marks(run, kept)),
            )
            if kept.end is not None:
                data = ENDED if kept.complete else "{}"
                await store.add_event(
                    NewEvent(run=run, at=NOON, kind="ended", text=kept.end, data=data)
                )


def _readings(run: int, kept: KeptRun) -> Iterable[NewReading]:
    for number, block in enumerate(kept.blocks, start=1):
        values = [float(value) for value in block.values_mm]
        first = 0 if kept.with_zeros else 1
        for trial, value_mm in enumerate([0.0, *values] if kept.with_zeros else values, first):
            yield replace(
                A_READING,
                place=replace(
                    A_READING.place,
                    run=run,
                    block=number,
                    round=1,
                    trial=trial,
                    method=block.method,
                    operator=block.operator,
                    point=block.point or "p",
                ),
                is_zero=trial == 0,
                reading=replace(
                    A_READING.reading, value_mm=value_mm, resolution_mm=kept.resolution_mm
                ),
            )


def _marks(run: int, kept: KeptRun) -> Iterable[NewMark]:
    for place, reason in (kept.void or {}).items():
        yield replace(A_MARK, run=run, block=place + 1, trial=None, attempt=None, reason=reason)
    for trial in range(kept.skipped):
        yield replace(A_MARK, run=run, trial=trial + 1, mark="skipped", reason="said")
