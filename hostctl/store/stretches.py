"""How a run's readings lie between what interrupts them: homing, and standing still."""

from bisect import bisect_right
from dataclasses import dataclass

from hostctl.store.rows import HOLD_LIFTED, HOMED, RESUMED, RunRecord

STOOD_STILL = frozenset({HOLD_LIFTED, RESUMED})
"""Kinds of the events that tell of a run that stood still, and went on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Readings with nothing between them. homings, breaks: how often, up to there, the axes homed
    and the run stood still."""

    homings: int
    breaks: int


def stretches(record: RunRecord) -> list[Stretch]:
    """Of each reading of a run, in the order in which they were stored."""
    homed = sorted(event.at for event in record.events if event.kind == HOMED)
    stood_still = sorted(event.at for event in record.events if event.kind in STOOD_STILL)
    return [
        Stretch(
            homings=bisect_right(homed, stored.kept.reading.taken_at),
            breaks=bisect_right(stood_still, stored.kept.reading.taken_at),
        )
        for stored in record.readings
    ]
