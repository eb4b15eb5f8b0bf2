"""Probe loops on record: the procedure gone through on paper, with touches of a known truth."""

import asyncio
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from stored_rows import A_READING, A_RUN, NOON

from hostctl.config.load import machine_from, study_from
from hostctl.config.study import Study
from hostctl.config.yaml_text import Source
from hostctl.records import Place, Reading, Temperatures
from hostctl.report.enclosed.sourced import sourced_run
from hostctl.report.kinds.looping.found.from_run import loop_of
from hostctl.report.kinds.looping.result import LoopResult
from hostctl.run.procedures.kinds.probe_loop import ProbeLoop
from hostctl.run.procedures.motions import HomeAnew
from hostctl.run.procedures.procedure import (
    Decision,
    Finished,
    ProcedureParts,
    StandStill,
    Trial,
)
from hostctl.run.record.progress import Progress
from hostctl.store.rows import HOLD_LIFTED, HOMED, TOUCH_FAILED, NewEvent, NewReading
from hostctl.store.store import Store

STEP_MM = 0.0025
EACH_S = 6.0
MACHINE = f"""machine: sim-tri
port: sim://workshop-tri?seed=7&speed=max
travel:
  x: {{from_mm: 0, to_mm: 220}}
  y: {{from_mm: 0, to_mm: 220}}
  z: {{from_mm: 0, to_mm: 250}}
points:
  - {{name: front-left, x_mm: 30, y_mm: 30}}
  - {{name: back-left, x_mm: 30, y_mm: 190}}
probe: {{offset_x_mm: 0, offset_y_mm: 0, resolution_mm: {STEP_MM}}}
"""


def study_text(*, points: str = "front-left", trials: int = 200, loop: str | None = "{}") -> str:
    """loop: its section; None: as studies were before there was one."""
    section = f"loop: {loop}\n" if loop is not None else ""
    return (
        "study: probe-loop\ntitle: The probe, again and again\nkind: probe-loop\n"
        f"points: [{points}]\ntrials: {trials}\nreference: datum\norder: mixed\n"
        f"gauge: {{kind: probe, resolution_mm: {STEP_MM}, plausible_mm: 2.0}}\n{section}"
    )


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What is put in. sigma_mm: of one touch.  drift_mm_per_h: steadily.  side_mm: left less right.
    homing_mm: standard deviation that each homing adds.  warm_up_mm: at the beginning, gone with
    the time constant warm_up_s.  per_k_mm: by the bed's temperature, which rises by `rise_k` and
    falls again once an hour.  jumps: by so much from that touch on.  fails: before which touches
    one failed.
    """

    sigma_mm: float = 0.003
    drift_mm_per_h: float = 0.0
    side_mm: float = 0.0
    homing_mm: float = 0.0
    warm_up_mm: float = 0.0
    warm_up_s: float = 600.0
    per_k_mm: float = 0.0
    rise_k: float = 0.0
    jumps: Mapping[int, float] = field(default_factory=dict)
    fails: tuple[int, ...] = ()
    heights_mm: Mapping[str, float] = field(default_factory=lambda: {"back-left": 0.0831})


@dataclass(kw_only=True)
class _Loop:
    """A loop as it comes about, without a machine."""

    study: Study
    truth: Truth
    seed: int
    readings: list[tuple[Place, Reading]] = field(default_factory=list)
    events: list[tuple[datetime, str, str, Mapping[str, object]]] = field(default_factory=list)
    complete: bool = False
    end: str = "broken off"

    def __post_init__(self) -> None:
        machine = machine_from(Source("machine.yaml", MACHINE))
        self.procedure = ProbeLoop(
            ProcedureParts(study=self.study, machine=machine, seed=self.seed, zeros=False)
        )
        most = self.procedure.most_trials(self.study)
        self.progress = Progress(most, hear=self.procedure.hear)
        side_of = self.study.loop.side if self.study.loop else lambda trial: None
        self.touch = _touches(self.truth, self.seed, side_of)

    def go_on(self, most: int) -> None:
        """Until it is over, or so many touches are done."""
        while len(self.readings) < most:
            at = NOON + timedelta(seconds=EACH_S * len(self.readings))
            match self.procedure.next(self.progress.so_far):
                case Finished(reason=reason):
                    self.complete, self.end = True, reason
                    return
                case Decision() as decided:
                    self.progress.decide(decided)
                    self.events.append((at, decided.kind, decided.what, decided.data))
                case StandStill(reason=reason):
                    self.events.append((at, "hold", reason, {}))
                    self.events.append((at + timedelta(seconds=EACH_S / 2), HOLD_LIFTED, "", {}))
                    self.progress.stood_still()
                case Trial() as trial:
                    self._touch(trial, at + timedelta(seconds=EACH_S - 1))

    def _touch(self, trial: Trial, at: datetime) -> None:
        place = self.progress.place(1, trial)
        deeds = self.procedure.deeds(place, self.progress.so_far)
        if not self.readings or any(isinstance(one, HomeAnew) for one in deeds):
            self.progress.homed()
            self.events.append((at - timedelta(seconds=1), HOMED, "", {}))
        number = len(self.readings) + 1
        if number in self.truth.fails:
            self.events.append((at, TOUCH_FAILED, "no trigger", {"block": place.block}))
        found = self.touch(place, number, self.progress.so_far.homings)
        reading = replace(found, taken_at=at)
        self.progress.keep(place, reading)
        self.readings.append((place, reading))


def loop_on_record(text: str, truth: Truth, *, seed: int = 1, most: int = 100_000) -> LoopResult:
    """The result of such a run, as it stands in a database."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "loop.sqlite"
        asyncio.run(keep_loop(path, text, truth, seed=seed, most=most))
        return loop_of(sourced_run(path, 1))


async def keep_loop(
    database: Path, text: str, truth: Truth, *, seed: int = 1, most: int = 100_000
) -> None:
    """Run 1 of a new database; `most`: it is broken off after so many touches."""
    kept = _Loop(study=study_from(Source("loop.yaml", text)), truth=truth, seed=seed)
    kept.go_on(most)
    async with Store.opened(database) as store:
        run = await store.add_run(
            replace(
                A_RUN,
                study="probe-loop",
                title="The probe, again and again",
                kind="probe-loop",
                machine="sim-tri",
                reference="datum",
                study_text=text,
            )
        )
        await asyncio.gather(
            *(
                store.add_reading(_row(replace(place, run=run), reading))
                for place, reading in kept.readings
            ),
            *(
                store.add_event(
                    NewEvent(run=run, at=at, kind=kind, text=said, data=json.dumps(data))
                )
                for at, kind, said, data in kept.events
            ),
        )
        end = kept.readings[-1][1].taken_at if kept.readings else NOON
        ended = json.dumps({"complete": kept.complete})
        await store.add_event(NewEvent(run=run, at=end, kind="ended", text=kept.end, data=ended))


def _touches(
    truth: Truth, seed: int, side_of: Callable[[int], str | None]
) -> Callable[[Place, int, int], Reading]:
    chance = Random(seed)
    where_mm = chance.uniform(0, STEP_MM)
    homed: dict[int, float] = {}

    def touch(place: Place, number: int, homings: int) -> Reading:
        s = EACH_S * number
        side = {"left": 0.5, "right": -0.5, None: 0.0}[side_of(place.trial)]
        if homings not in homed:
            homed[homings] = chance.gauss(0, truth.homing_mm)
        rise_k = truth.rise_k * abs((s / 1800) % 2 - 1)
        true_mm = (
            where_mm
            + truth.heights_mm.get(place.point, 0.0)
            + truth.drift_mm_per_h * s / 3600
            + truth.warm_up_mm * 2.718281828 ** (-s / truth.warm_up_s)
            + truth.per_k_mm * rise_k
            + side * truth.side_mm
            + homed[homings]
            + sum(by for since, by in truth.jumps.items() if number >= since)
        )
        read = round((true_mm + chance.gauss(0, truth.sigma_mm)) / STEP_MM) * STEP_MM
        warm = Temperatures(nozzle_c=21.0 + chance.uniform(-0.2, 0.2), bed_c=21.0 + rise_k)
        return replace(
            A_READING.reading,
            value_mm=round(read, 6),
            resolution_mm=STEP_MM,
            source="probe",
            temperatures=warm,
        )

    return touch


def _row(place: Place, reading: Reading) -> NewReading:
    return replace(A_READING, place=place, reading=reading, prompted_at=None, answered_at=None)
