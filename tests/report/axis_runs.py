"""Runs of an axis test and of a gauge comparison on record, as their procedures keep them.

Invented: an axis that is 0.02 mm lower on its way up, and two gauges that differ by 0.3 mm.
"""

import asyncio
import json
from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from random import Random

from stored_rows import A_READING, A_RUN, NOON

from hostctl.config.parts.axis import AxisTest
from hostctl.store.rows import PLUNGER_SIGN, NewEvent, NewReading
from hostctl.store.store import Store

PLAY_MM, APART_MM = 0.02, 0.3
AXIS = AxisTest(targets_mm=[-2.9, -1.3, 0.22], runs=5)
AXIS_STUDY = """study: axis-test
title: Z axis
kind: axis-test
points: [front-left]
trials: 30
reference: datum
axis: {targets_mm: [-2.9, -1.3, 0.22], runs: 5}
"""
GAUGE_STUDY = """study: gauge-comparison
title: Two gauges
kind: gauge-comparison
points: [front-left, front-right]
trials: 8
reference: datum
gauge: {kind: probe}
second_gauge: {kind: typed}
"""
MACHINE = """machine: workshop-tri
port: sim://workshop-tri?seed=7&speed=max
travel: {x: {from_mm: 0, to_mm: 300}, y: {from_mm: 0, to_mm: 300}, z: {from_mm: -2, to_mm: 300}}
points:
  - {name: front-left, x_mm: 40, y_mm: 40}
  - {name: front-right, x_mm: 260, y_mm: 40}
indicator: {offset_x_mm: 25, offset_y_mm: 0, reading_z_mm: 5, pre_load_mm: 0.5, travel_mm: 10}
probe: {offset_x_mm: 0, offset_y_mm: 20, resolution_mm: 0.0025}
"""
Read = tuple[int, int, str, str, float, float]  # block, trial, method, point, value, resolution


def axis_readings(sign: int, seed: int = 3) -> Iterable[Read]:
    """sign: 1 where the number grows as the plunger is pressed in."""
    chance = Random(seed)
    for trial in range(1, AXIS.trials + 1):
        aim = AXIS.aim(trial)
        reached = aim.target_mm - PLAY_MM * (aim.coming_from == "below") + chance.gauss(0, 0.001)
        yield 1, trial, "axis-test", "front-left", round(0.4 - sign * reached, 2), 0.01


def gauge_readings(sign: int, seed: int = 3) -> Iterable[Read]:
    chance = Random(seed)
    for place, point in enumerate(("front-left", "front-right")):
        for pair in range(1, 9):
            height = 0.1 * place + chance.gauss(0, 0.002)
            probe = round((height + chance.gauss(0, 0.002)) / 0.0025) * 0.0025
            typed = round(sign * (height - APART_MM + chance.gauss(0, 0.002)), 2)
            both: list[Read] = [
                (2 * place + 1, pair, "probe", point, probe, 0.0025),
                (2 * place + 2, pair, "typed", point, typed, 0.01),
            ]
            yield from both if pair % 2 else both[::-1]


async def keep(
    database: Path, kind: str, text: str, readings: Iterable[Read], sign: int | None
) -> None:
    """Run 1 of a new database. sign: None: nobody said it."""
    async with Store.opened(database) as store:
        run = await store.add_run(
            replace(
                A_RUN,
                study=kind,
                title="Z axis" if kind == "axis-test" else "Two gauges",
                kind=kind,
                machine="workshop-tri",
                reference="datum",
                study_text=text,
                machine_text=MACHINE,
            )
        )
        if sign is not None:
            grows = json.dumps({"grows_pressed": sign == 1})
            await store.add_event(_event(run, PLUNGER_SIGN, grows))
        await asyncio.gather(*(store.add_reading(_reading(run, one)) for one in readings))
        await store.add_event(_event(run, "ended", '{"complete": true}'))


def _event(run: int, kind: str, data: str) -> NewEvent:
    return NewEvent(run=run, at=NOON + timedelta(hours=1), kind=kind, text=kind, data=data)


def _reading(run: int, of: Read) -> NewReading:
    block, trial, method, point, value_mm, resolution_mm = of
    return replace(
        A_READING,
        place=replace(
            A_READING.place,
            run=run,
            block=block,
            round=1,
            trial=trial,
            method=method,
            operator="",
            point=point,
        ),
        is_zero=False,
        reading=replace(A_READING.reading, value_mm=value_mm, resolution_mm=resolution_mm),
        prompted_at=None,
        answered_at=None,
    )
