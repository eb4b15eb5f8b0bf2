"""What a loop decided as it went, as its run keeps it: read, and its kinds checked.

A report that somebody sent may hold anything; what is not as `run/procedures/kinds/probe_loop.py`
keeps it is one DataError.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from hostctl.errors import DataError
from hostctl.report.enclosed.parts import Part, Unfit
from hostctl.report.kinds.looping.result import HeldFound, LookFound, Verdict
from hostctl.store.rows import LOOKED, NewEvent

LONG_ENOUGH, LEFT_COLD = "long-enough", "left-cold"
_LOOKS: dict[str, Verdict] = {"goes-on": "goes-on", "known": "known"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """All of them. verdicts: one for each, in order."""

    verdicts: tuple[str, ...]
    looks: tuple[LookFound, ...]
    held: tuple[HeldFound, ...]


def decisions_of(events: Sequence[NewEvent], where: str) -> Decided:
    """In the order decided. where: whose they are. Raises DataError."""
    try:
        found = list(_decisions(events))
        return Decided(
            verdicts=tuple(part.text("verdict") for part, _ in found),
            looks=tuple(_look(part) for part, _ in found if part.text("verdict") in _LOOKS),
            held=tuple(_held(part, at) for part, at in found if part.text("verdict") == "held"),
        )
    except Unfit as why:
        next_step = "Read it with the version of hostctl that it was made with."
        raise DataError(where, f"what it decided can't be read: {why}", next_step) from why


def _decisions(events: Sequence[NewEvent]) -> Iterator[tuple[Part, datetime]]:
    for event in events:
        if event.kind == LOOKED:
            data = json.loads(event.data)
            yield Part(data if isinstance(data, dict) else {}, LOOKED).part("loop"), event.at


def _look(part: Part) -> LookFound:
    known_to = part.number("known_to", low=0.0)
    return LookFound(
        point=part.text("point"),
        side=part.or_none("side", part.text),
        look=part.whole("look", low=1),
        looks=part.whole("looks", low=1),
        levels=part.whole("levels", low=1) if "levels" in part.data else None,
        n=part.whole("n", low=1),
        known_to=known_to,
        half_width=part.or_none("half_width", part.number),
        s_mm=_if_there(part, "s_mm"),
        low_mm=_if_there(part, "low_mm"),
        high_mm=_if_there(part, "high_mm"),
        drift_mm=_if_there(part, "drift_mm"),
        likeness=_if_there(part, "likeness"),
        refused=part.text("refused") if "refused" in part.data else None,
        verdict=_LOOKS[part.text("verdict")],
    )


def _held(part: Part, at: datetime) -> HeldFound:
    return HeldFound(
        at=at,
        point=part.text("point"),
        trial=part.whole("trial"),
        touch=part.whole("touches", low=1),
        value_mm=part.number("value_mm"),
        centre_mm=part.number("centre_mm"),
        lower_mm=part.number("lower_mm"),
        upper_mm=part.number("upper_mm"),
        moved=part.flag("moved"),
    )


def _if_there(part: Part, key: str) -> float | None:
    return part.number(key) if key in part.data else None
