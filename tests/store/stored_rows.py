"""Rows to put into a store. Invented; the scenario is the workshop's."""

from dataclasses import replace
from datetime import UTC, datetime

from a_place import A_PLACE

from hostctl.records import Position, Reading, Temperatures
from hostctl.store.rows import NewEvent, NewMark, NewReading, NewRun

NOON = datetime(2031, 5, 6, 12, 0, 0, 123_000, tzinfo=UTC)

A_RUN = NewRun(
    study="three-methods",
    title="Paper slip, feeler gauge or contact light",
    kind="comparison",
    machine="workshop-220",
    reference="first",
    study_text="study: three-methods  # comments and all\n",
    machine_text="machine: workshop-220\n",
    seed=7,
    started_at=NOON,
    program="hostctl 0.1.0",
)

A_READING = NewReading(
    place=A_PLACE,
    is_zero=False,
    reading=Reading(
        value_mm=0.02,
        resolution_mm=0.01,
        taken_at=NOON,
        source="typed",
        at=Position(x_mm=30.0, y_mm=30.0, z_mm=0.2),
        temperatures=Temperatures(nozzle_c=None, bed_c=21.5),
    ),
    prompted_at=NOON,
    answered_at=NOON,
    channel="terminal",
)

A_MARK = NewMark(
    run=1, block=1, round=1, trial=1, attempt=1, mark="void", reason="paper moved", at=NOON
)

AN_EVENT = NewEvent(run=1, at=NOON, kind="hold", text="the probe gave no height", data='{"n": 1}')


def reading_at(*, value_mm: float = 0.02, is_zero: bool = False, **place: int) -> NewReading:
    """A reading at a place given by its counts."""
    return replace(
        A_READING,
        place=replace(A_READING.place, **place),
        is_zero=is_zero,
        reading=replace(A_READING.reading, value_mm=value_mm),
    )
