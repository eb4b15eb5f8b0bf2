"""Runs of levelling on record, as the procedure keeps them: readings, and a decision a round.

The bed is invented: a plane, a bow and a twist, turned with screws of known pitch.
"""

import asyncio
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import Any

from stored_rows import A_READING, A_RUN, NOON

from hostctl.metrology.levelling.heights import heights_of
from hostctl.store.rows import LEVELLED, NewEvent, NewReading
from hostctl.store.store import Store

STUDY = """study: level-it
title: Level the bed
kind: level
points: [front-left, front-right, back-left, back-right]
trials: 2
gauge: {kind: probe}
level: {within_mm: 0.05, grid: {across: 3, back: 3, inset_mm: 30}}
"""
WARM_STUDY = STUDY.replace("mm: 30}}", "mm: 30}, still: {within_mm: 0.01}}") + (
    "warmth: {bed_c: 55, soak_s: 0}\n"
)
MACHINE = """machine: workshop-tri
port: sim://workshop-220?seed=7&speed=max
travel: {x: {from_mm: 0, to_mm: 220}, y: {from_mm: 0, to_mm: 220}, z: {from_mm: 0, to_mm: 250}}
points:
  - {name: front-left, x_mm: 30, y_mm: 30}
  - {name: front-right, x_mm: 190, y_mm: 30}
  - {name: back-left, x_mm: 30, y_mm: 190}
  - {name: back-right, x_mm: 190, y_mm: 190}
screws:
  - {name: front-left, x_mm: 30, y_mm: 30, can_raise_mm: 4.0, can_lower_mm: 4.0}
  - {name: front-right, x_mm: 190, y_mm: 30, can_raise_mm: 4.0, can_lower_mm: 4.0}
  - {name: back-left, x_mm: 30, y_mm: 190, seen_from: below, can_raise_mm: 4.0, can_lower_mm: 4.0}
  - {name: back-right, x_mm: 190, y_mm: 190, can_raise_mm: 4.0, can_lower_mm: 4.0}
probe: {offset_x_mm: 0, offset_y_mm: 0}
"""
SCREWS = {
    "front-left": (30.0, 30.0),
    "front-right": (190.0, 30.0),
    "back-left": (30.0, 190.0),
    "back-right": (190.0, 190.0),
}
POINTS = {
    **SCREWS,
    **{f"grid-{i + 1}-{j + 1}": (30.0 + 80 * i, 30.0 + 80 * j) for j in range(3) for i in range(3)},
}
PITCH_MM = 0.7
TILTS = ((0.004, -0.0025), (0.0004, -0.0003), (0.00004, 0.00006))
"""Slopes along x and y, mm/mm, as each round finds them."""


def height(x_mm: float, y_mm: float, slopes: tuple[float, float]) -> float:
    """The bed's true height about its middle."""
    u, v = (x_mm - 110) / 80, (y_mm - 110) / 80
    warp = 0.02 * (u * u - 0.5) + 0.01 * u * v
    return slopes[0] * (x_mm - 110) + slopes[1] * (y_mm - 110) + warp


@dataclass(frozen=True, slots=True)
class Round:
    """One round: its readings, and what was decided by them."""

    readings: tuple[tuple[str, int, float], ...]
    decided: Mapping[str, Any]


def rounds(seed: int = 5, sd_mm: float = 0.002) -> Iterator[Round]:
    """Two passes a round, the second the other way round; turns after each but the last."""
    chance, before = Random(seed), None
    for number, slopes in enumerate(TILTS, 1):
        names = [*POINTS, *reversed(POINTS), next(iter(POINTS))]
        read = [
            (name, round(height(*POINTS[name], slopes) + chance.gauss(0, sd_mm), 4))
            for name in names
        ]
        heights = _heights(read)
        last = number == len(TILTS)
        yield Round(
            readings=tuple((name, trial, value) for trial, (name, value) in enumerate(read, 1)),
            decided={
                "round": number,
                "verdict": "within-tolerance" if last else "turn",
                "heights": heights,
                **_tilt(slopes),
                "kept": "mean",
                "whole": True,
                "turns": [] if last else [_turn(name, slopes) for name in SCREWS],
                "moved": _moved(before, slopes),
                "noticed": [f"The bed moved {-0.139:+.3f} mm there."] if last else [],
                "left": ["What is left is no tilt."] if last else [],
            },
        )
        before = slopes


def _heights(read: Sequence[tuple[str, float]]) -> list[dict[str, Any]]:
    """As a levelling judges them, to what it keeps of them."""
    count = len(POINTS)
    there, back = [mm for _, mm in read[:count]], [mm for _, mm in read[count : 2 * count]]
    xs, ys = zip(*POINTS.values(), strict=True)
    found = heights_of(
        list(POINTS), xs, ys, [there, back[::-1]], closing=read[-1][1], resolution_mm=0.0025
    )
    middle = found.height_mm.mean()
    rows = zip(POINTS, xs, ys, found.height_mm - middle, found.u_mm, strict=True)
    keys = ("point", "x_mm", "y_mm", "height_mm", "u_mm")
    return [
        dict(zip(keys, (name, x, y, round(float(z), 6), round(float(u), 6)), strict=True))
        for name, x, y, z, u in rows
    ]


def _tilt(slopes: tuple[float, float]) -> dict[str, float]:
    tilt_mm = 160 * (abs(slopes[0]) + abs(slopes[1]))
    return {
        "tilt_mm": tilt_mm,
        "tilt_low_mm": max(tilt_mm - 0.006, 0),
        "tilt_high_mm": tilt_mm + 0.006,
    }


def _rise(name: str, slopes: tuple[float, float]) -> float:
    x_mm, y_mm = SCREWS[name]
    return -(slopes[0] * (x_mm - 110) + slopes[1] * (y_mm - 110))


def _turn(name: str, slopes: tuple[float, float]) -> dict[str, Any]:
    raise_mm = _rise(name, slopes)
    return {
        "screw": name,
        "x_mm": SCREWS[name][0],
        "y_mm": SCREWS[name][1],
        "raise_mm": raise_mm,
        "u_mm": 0.0012,
        "turn_deg": 360 * abs(raise_mm) / PITCH_MM,
        "u_deg": 0.62,
        "direction": "clockwise" if raise_mm > 0 else "anticlockwise",
        "target_mm": None,
    }


def _moved(
    before: tuple[float, float] | None, slopes: tuple[float, float]
) -> Sequence[dict[str, Any]]:
    if before is None:
        return []
    return [
        {
            "screw": name,
            "expected_mm": _rise(name, before),
            "moved_mm": _rise(name, before) - _rise(name, slopes),
            "u_mm": 0.0017,
            "noticed": "",
        }
        for name in SCREWS
    ]


async def keep_levelling(
    database: Path,
    *,
    most_rounds: int = 3,
    decide: Callable[[dict[str, Any]], Any] = dict,
    still: Mapping[str, Any] | None = None,
    waits: int = 1,
) -> None:
    """Run 1 of a new database: all rounds, or the first of them. decide: what is kept of a round's
    data instead of them. still: what was decided of the wait for a warm bed, so many times."""
    async with Store.opened(database) as store:
        run = await store.add_run(
            replace(
                A_RUN,
                study="level-it",
                title="Level the bed",
                kind="level",
                machine="workshop-tri",
                reference="first",
                study_text=STUDY if still is None else WARM_STUDY,
                machine_text=MACHINE,
            )
        )
        if still is not None:
            data = json.dumps({"still": still})
            for _ in range(waits):
                new = NewEvent(run=run, at=NOON, kind="decided", text="", data=data)
                await store.add_event(new)
        for number, one in enumerate(rounds(), 1):
            if number > most_rounds:
                break
            await asyncio.gather(
                *(
                    store.add_reading(_reading(run, 2 * number - 1, point, trial, value_mm))
                    for point, trial, value_mm in one.readings
                )
            )
            await store.add_event(
                NewEvent(
                    run=run,
                    at=NOON + timedelta(minutes=10 * number),
                    kind=LEVELLED,
                    text=f"Round {number}.",
                    data=json.dumps(decide(dict(one.decided))),
                )
            )
        ended = '{"complete": true}'
        await store.add_event(
            NewEvent(run=run, at=NOON + timedelta(hours=1), kind="ended", text="level", data=ended)
        )


def _reading(run: int, block: int, point: str, trial: int, value_mm: float) -> NewReading:
    return replace(
        A_READING,
        place=replace(
            A_READING.place,
            run=run,
            block=block,
            round=1,
            trial=trial,
            method="level",
            operator="",
            point=point,
        ),
        reading=replace(A_READING.reading, value_mm=value_mm, resolution_mm=0.0025, source="probe"),
        prompted_at=None,
        answered_at=None,
    )
