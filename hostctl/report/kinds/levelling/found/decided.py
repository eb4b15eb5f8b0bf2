"""What each round of a levelling decided, as its run keeps it: read, and its kinds checked.

A report that somebody sent may hold anything; what is not as `run/procedures/kinds/level.py` keeps
it is one DataError.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import cast, get_args

from hostctl.deeds import Direction
from hostctl.errors import DataError
from hostctl.report.enclosed.parts import Part, Unfit
from hostctl.report.kinds.levelling.result import Verdict
from hostctl.store.rows import LEVELLED, NewEvent

_NEXT_STEP = "Read it with the version of hostctl that it was made with."


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightDecided:
    """One point; see `result.HeightFound`."""

    point: str
    x_mm: float
    y_mm: float
    height_mm: float
    u_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnDecided:
    """One screw. direction: seen from above."""

    screw: str
    raise_mm: float
    u_mm: float
    turn_deg: float
    u_deg: float
    direction: Direction


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedDecided:
    """What turning did. noticed: a word of the procedure's, empty where nothing was."""

    screw: str
    expected_mm: float
    moved_mm: float
    u_mm: float
    noticed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """One round. whole: whether the turns level the bed at once. sign: -1 where the gauge's number
    falls as the bed comes up; None: an older run, which keeps it elsewhere."""

    number: int
    at: datetime
    verdict: Verdict
    heights: tuple[HeightDecided, ...]
    tilt_mm: float
    tilt_low_mm: float
    tilt_high_mm: float
    kept: str
    whole: bool
    turns: tuple[TurnDecided, ...]
    moved: tuple[MovedDecided, ...]
    noticed: tuple[str, ...]
    sign: int | None


def rounds_decided(events: Sequence[NewEvent], where: str) -> Iterator[Decided]:
    """In the order decided. where: whose they are. Raises DataError."""
    for event in events:
        if event.kind != LEVELLED:
            continue
        data = json.loads(event.data)
        if not isinstance(data, dict) or "heights" not in data:
            continue  # a decision before anything was measured
        try:
            yield _round(Part(data, LEVELLED), event.at)
        except Unfit as why:
            raise DataError(where, f"what it decided can't be read: {why}", _NEXT_STEP) from why


def _round(part: Part, at: datetime) -> Decided:
    return Decided(
        number=part.whole("round", low=1),
        at=at,
        verdict=cast(Verdict, _one_of(part, "verdict", get_args(Verdict))),
        heights=tuple(_height(one) for one in part.parts("heights")),
        tilt_mm=part.number("tilt_mm"),
        tilt_low_mm=part.number("tilt_low_mm"),
        tilt_high_mm=part.number("tilt_high_mm"),
        kept=part.text("kept"),
        whole=part.flag("whole"),
        turns=tuple(_turn(one) for one in part.parts("turns")),
        moved=tuple(_moved(one) for one in part.parts("moved")),
        noticed=part.texts("noticed"),
        sign=_sign(part),
    )


def _sign(part: Part) -> int | None:
    if "sign" not in part.data:
        return None
    return -1 if part.whole("sign", low=-1) < 0 else 1


def _height(part: Part) -> HeightDecided:
    return HeightDecided(
        point=part.text("point"),
        x_mm=part.number("x_mm"),
        y_mm=part.number("y_mm"),
        height_mm=part.number("height_mm"),
        u_mm=part.number("u_mm", low=0.0),
    )


def _turn(part: Part) -> TurnDecided:
    return TurnDecided(
        screw=part.text("screw"),
        raise_mm=part.number("raise_mm"),
        u_mm=part.number("u_mm", low=0.0),
        turn_deg=part.number("turn_deg", low=0.0),
        u_deg=part.number("u_deg", low=0.0),
        direction=cast(Direction, _one_of(part, "direction", get_args(Direction))),
    )


def _moved(part: Part) -> MovedDecided:
    return MovedDecided(
        screw=part.text("screw"),
        expected_mm=part.number("expected_mm"),
        moved_mm=part.number("moved_mm"),
        u_mm=part.number("u_mm", low=0.0),
        noticed=part.text("noticed"),
    )


def _one_of(part: Part, key: str, known: Sequence[str]) -> str:
    found = part.text(key)
    if found not in known:
        raise Unfit(f"{part.at}.{key} is none of {', '.join(known)}")
    return found
