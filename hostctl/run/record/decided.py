"""What was decided, and what was carried out without a reading, as events that are replayed."""

import json
from dataclasses import asdict
from typing import Any

from hostctl.records import Place
from hostctl.run.procedures.procedure import OF_DECISIONS, Decision
from hostctl.store.rows import NewEvent, RunRecord

CARRIED_OUT = "carried out"
"""The kind of the event that keeps that a step in which nothing is read was done."""


def in_the_study(place: Place) -> str:
    """`trial 3 of block 2`."""
    return f"trial {place.trial} of block {place.block}"


def place_as_data(place: Place) -> dict[str, Any]:
    """The place of a step that was carried out, as JSON holds it."""
    return {"place": asdict(place)}


def decisions_of(record: RunRecord) -> list[Decision]:
    """What was decided, in order."""
    return [
        Decision(what=event.text, data=json.loads(event.data), kind=event.kind)
        for event in record.events
        if event.kind in OF_DECISIONS
    ]


def carried_out(record: RunRecord) -> list[Place]:
    """The steps that were done and in which nothing was read."""
    return [_place(event) for event in record.events if event.kind == CARRIED_OUT]


def _place(event: NewEvent) -> Place:
    return Place(**json.loads(event.data)["place"])
