"""How a run's readings lie between what interrupts them: homing, and standing still."""

import json
from bisect import bisect_right
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from hostctl.store.rows import HOLD_LIFTED, HOMED, RESUMED, NewEvent, RunRecord

STOOD_STILL = frozenset({HOLD_LIFTED, RESUMED})
"""Kinds of the events that tell of a run that stood still, and went on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Readings with nothing between them. homings, breaks: how often, up to there, the axes homed
    and the run stood still.
    """

    homings: int
    breaks: int


def stretches(record: RunRecord) -> list[Stretch]:
    """Of each reading of a run, in the order in which they were stored."""
    homed, stood_still = _after(record, {HOMED}), _after(record, STOOD_STILL)
    return [
        Stretch(homings=bisect_right(homed, before), breaks=bisect_right(stood_still, before))
        for before in range(len(record.readings))
    ]


def _after(record: RunRecord, kinds: Collection[str]) -> list[int]:
    """After how many readings something of these kinds happened, each time."""
    times = [stored.kept.reading.taken_at for stored in record.readings]
    return sorted(_readings_before(each, times) for each in record.events if each.kind in kinds)


def _readings_before(event: NewEvent, times: Sequence[datetime]) -> int:
    """As it says, whatever clocks did since; by the clock where it does not say."""
    said = json.loads(event.data).get("readings")
    return int(said) if said is not None else sum(1 for at in times if at < event.at)
