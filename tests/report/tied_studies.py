"""Whole studies of the true gap without a machine: the run's own procedure, a bench whose truth is
known, the record, and what is said of it.

What the procedure asks for is met by the bench: a tie's contact and its reading, a setting and its
reading. All that is kept is what a run keeps.
"""

import asyncio
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cache
from math import ceil, floor
from pathlib import Path
from random import Random
from typing import Any

from kept_runs import ENDED, a_run
from stored_rows import A_READING, NOON

from hostctl.config.yaml_text import Source
from hostctl.daemon.assembly.plan import Plan, machine_file, plan_from
from hostctl.metrology.claims.looks import Looks
from hostctl.records import TIE_METHOD, Place, Reading, Temperatures, TieContact
from hostctl.report.analysis.analysis import Wish, judge
from hostctl.report.sources.looks import Looking
from hostctl.report.sources.material import Material
from hostctl.report.sources.run_material import run_material
from hostctl.report.trueness.aimed import Aim, aimed
from hostctl.report.trueness.result import Trueness
from hostctl.run.procedures.kinds.comparison import Comparison
from hostctl.run.procedures.procedure import Decision, Finished, ProcedureParts, Trial
from hostctl.run.procedures.tying import blocks_of_its_own
from hostctl.run.record.progress import Progress
from hostctl.store.rows import PLUNGER_SIGN, TIE_CHECKED, TIE_CONTACT, NewEvent, NewReading
from hostctl.store.store import Store

ONE_LOOK = Wish(look=Looking(looks=Looks(declared=1)))
MARGIN_MM, FARTHEST_MM = 0.03, 0.1
BLADE_STEP_MM, BLOCK_MM, CONTACT_Z_MM = 0.05, 1.0, 0.4
TIES: Mapping[str, Mapping[str, object]] = {
    "touch": {"contact": "lamp", "plate_mm": 0.5},
    "feelers": {"blade_error_mm": 0.004, "feel_mm": 0.003},
    "gauge-block": {"block_mm": BLOCK_MM, "block_error_mm": 0.0005, "feel_mm": 0.008},
}
SPOILED = ("bezel turned", "indicator knocked", "nozzle longer", "bed warmed")
WARMER_K = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TiedStudy:
    """What is simulated, mm. rig_mm: scatter of every reading, beside that of settings and touches.

    guides_mm: with it the tie is made at one of two points alone.
    drift_mm: by so much the constant creeps, evenly, from the first to the last setting.
    spoiled: what happens to the tie, moving its constant by spoiled_mm, when half of the settings
    before the first check are read.
    hidden_mm: an error of the tie that nobody states.
    """

    by: str = "touch"
    trials: int = 8
    touch_mm: float = 0.003
    rig_mm: float = 0.003
    sd_mm: float = 0.01
    beyond_mm: float = 0.004
    guides_mm: float | None = None
    drift_mm: float = 0.0
    spoiled: str = ""
    spoiled_mm: float = 0.0
    checks: int = 1
    hidden_mm: float = field(default=0.0, repr=False)

    @property
    def points(self) -> list[str]:
        """Where settings are made."""
        return ["front-left"] if self.guides_mm is None else ["front-left", "back-right"]

    @property
    def study_text(self) -> str:
        """The study's file."""
        guides = {} if self.guides_mm is None else {"guides_mm": self.guides_mm}
        return json.dumps(
            {
                "study": "tied",
                "title": "How far off",
                "kind": "comparison",
                "methods": [{"name": "slip", "instruction": "Set it.", "goes_by": "paper"}],
                "operators": ["helper"],
                "points": self.points,
                "trials": self.trials,
                "reference": "gap",
                "target_mm": 0.1,
                "on_target_within_mm": MARGIN_MM,
                "gauge": {"plausible_mm": 3.0},
                "tie": {
                    "by": self.by,
                    "beyond_mm": self.beyond_mm,
                    "checks": self.checks,
                    "points": self.points[:1],
                    **guides,
                    **TIES[self.by],
                },
            }
        )


@dataclass(frozen=True, slots=True)
class Told:
    """What came of one study. mean_mm: the true one.  material: as the report has it.
    checked: what each check said, in order."""

    mean_mm: float
    material: Material
    checked: Sequence[Mapping[str, Any]]
    settings_at_first_check: int

    def found(self, target_mm: float) -> Trueness:
        """What is said of it where this gap is wanted."""
        aim = Aim(target_mm=target_mm, margin_mm=MARGIN_MM)
        (one,) = judge(aimed(self.material, aim), None, ONE_LOOK).trueness
        return one


class Bench:
    """One study's bench; what happens there is kept in `rows`."""

    def __init__(self, of: TiedStudy, run: int, seed: str) -> None:
        self.of, self.run, self.rng = of, run, Random(seed)
        uniform, gauss = self.rng.uniform, self.rng.gauss
        self.plan = _plan(of.study_text)
        self.sign = self.rng.choice([1.0, -1.0])
        self.mean_mm = uniform(0.1 - FARTHEST_MM, 0.1 + FARTHEST_MM)
        self.constant_mm = uniform(1.2, 1.3)
        self.contact_mm = CONTACT_Z_MM + uniform(0.0, 0.05)
        self.beyond_mm = gauss(0.0, of.beyond_mm)
        self.guide_mm = uniform(-1.0, 1.0) * (of.guides_mm or 0.0)
        self.blades_mm: dict[float, float] = {}
        self.moved_mm = 0.0
        self.bed_c = 22.0
        self.settings = 0
        self.rows: list[NewReading | NewEvent] = []
        self.checked: list[Mapping[str, Any]] = []
        self.settings_checked = 0
        self.total = of.trials * len(of.points)
        self.spoiled_after = max(1, self.total // (2 * (of.checks + 1))) if of.spoiled else 0

    def carry_out(self) -> None:
        """All that the run's own procedure asks for."""
        study = self.plan.study
        procedure = Comparison(
            ProcedureParts(study=study, machine=self.plan.machine, seed=1, zeros=False)
        )
        progress = Progress(Comparison.most_trials(study), blocks_of_its_own(study))
        progress.grows_pressed = self.sign > 0.0
        self._event(PLUNGER_SIGN, {"grows_pressed": self.sign > 0.0})
        while True:
            step = procedure.next(progress.so_far)
            if isinstance(step, Finished):
                break
            if isinstance(step, Decision):
                if step.kind == TIE_CHECKED:
                    self.settings_checked = self.settings_checked or self.settings
                    self.checked.append(step.data)
                self._event(step.kind, step.data, step.what)
                progress.decide(step)
            else:
                self._step(step, progress)
        self._event("ended", json.loads(ENDED), "all trials are done")

    def _step(self, step: Trial, progress: Progress) -> None:
        place = progress.place(self.run, step)
        if place.method == TIE_METHOD:
            contact = self._contact()
            self._event(TIE_CONTACT, contact.as_data(place))
            progress.touch(place, contact)
            pressed_mm = self._pressed_at_tie(contact)
        else:
            pressed_mm = self._pressed_at_setting(place)
        progress.keep(place, self._read(place, pressed_mm))

    def _contact(self) -> TieContact:
        """Where the nozzle meets the surface, or what lies between the two."""
        of, set_z_mm = self.of, self.plan.machine.set_z_mm
        met_mm = self.contact_mm + self._nozzle_mm + self.rng.gauss(0.0, of.touch_mm)
        if of.by == "touch":
            step_mm = 0.01
            closed_mm = floor(met_mm / step_mm) * step_mm
            return self._told(closed_mm + step_mm, closed_mm, 0.0, 0.0)
        if of.by == "gauge-block":
            felt_mm = self.rng.uniform(-0.008, 0.008) + self._of_blade(BLOCK_MM, 0.0005)
            z_mm = met_mm + BLOCK_MM + felt_mm
            return self._told(z_mm, z_mm, BLOCK_MM, BLOCK_MM)
        z_mm = set_z_mm + 1.2
        gap_mm = z_mm - met_mm
        blades = [BLADE_STEP_MM * k for k in range(1, ceil(gap_mm / BLADE_STEP_MM) + 3)]
        felt_mm = self.rng.uniform(-0.003, 0.003)
        goes = [one for one in blades if one + self._of_blade(one, 0.004) <= gap_mm + felt_mm]
        low_mm = max(goes)
        return self._told(z_mm, z_mm, low_mm, low_mm + BLADE_STEP_MM)

    def _of_blade(self, thick_mm: float, limit_mm: float) -> float:
        """How much thicker it is than it says: for good."""
        return self.blades_mm.setdefault(thick_mm, self.rng.uniform(-limit_mm, limit_mm))

    def _told(self, open_mm: float, closed_mm: float, low_mm: float, high_mm: float) -> TieContact:
        indicator = self.plan.machine.indicator
        assert indicator is not None
        plate_mm = 0.5 if self.of.by == "touch" else 0.0
        return TieContact(
            by=self.of.by,
            open_z_mm=open_mm,
            closed_z_mm=closed_mm,
            between_low_mm=low_mm,
            between_high_mm=high_mm,
            plunger_z_mm=indicator.reading_z_mm + plate_mm,
            set_z_mm=self.plan.machine.set_z_mm,
            reading_z_mm=indicator.reading_z_mm,
        )

    def _pressed_at_tie(self, contact: TieContact) -> float:
        """C = A + pressed in - z of contact, with the constant as it is now."""
        above_mm = contact.set_z_mm - contact.reading_z_mm + contact.plunger_z_mm
        surface_mm = self.contact_mm + self.beyond_mm + self.of.hidden_mm
        return self.constant_mm + self._plunger_mm + self._crept_mm + surface_mm - above_mm

    def _pressed_at_setting(self, place: Place) -> float:
        self.settings += 1
        gap_mm = self.rng.gauss(self.mean_mm, self.of.sd_mm)
        away_mm = self.guide_mm if place.point != self.of.points[0] else 0.0
        constant_mm = self.constant_mm + self._plunger_mm - self._nozzle_mm + self._crept_mm
        pressed_mm = constant_mm + away_mm - gap_mm
        if self.of.spoiled and self.settings == self.spoiled_after:
            self.moved_mm = self.of.spoiled_mm
            self.bed_c += WARMER_K if self.of.spoiled == "bed warmed" else 0.0
        return pressed_mm

    @property
    def _crept_mm(self) -> float:
        return self.of.drift_mm * (self.settings / self.total - 0.5)

    @property
    def _plunger_mm(self) -> float:
        """How much more the indicator shows, by what was done to it."""
        return self.moved_mm if self.of.spoiled in ("bezel turned", "indicator knocked") else 0.0

    @property
    def _nozzle_mm(self) -> float:
        """How much lower the nozzle reaches: contact comes so much higher."""
        return self.moved_mm if self.of.spoiled in ("nozzle longer", "bed warmed") else 0.0

    def _read(self, place: Place, pressed_mm: float) -> Reading:
        seen_mm = self.sign * (pressed_mm + self.rng.gauss(0.0, self.of.rig_mm))
        reading = replace(
            A_READING.reading,
            value_mm=round(round(seen_mm / 0.01) * 0.01, 9),
            resolution_mm=0.01,
            taken_at=self._now,
            temperatures=Temperatures(nozzle_c=21.0, bed_c=self.bed_c),
        )
        self.rows.append(replace(A_READING, place=place, is_zero=False, reading=reading))
        return reading

    def _event(self, kind: str, data: object, text: str = "") -> None:
        now, kept = self._now, json.dumps(data)
        self.rows.append(NewEvent(run=self.run, at=now, kind=kind, text=text, data=kept))

    @property
    def _now(self) -> datetime:
        return NOON + timedelta(seconds=len(self.rows))


@cache
def _plan(study_text: str) -> Plan:
    return plan_from(Source("study", study_text), machine_file("sim-220"))


def told(of: TiedStudy, studies: int, folder: Path, seed: int = 0) -> Iterator[Told]:
    """So many of it, carried out, kept in a database and read again."""
    benches = [Bench(of, run, f"{seed} {run} {of}") for run in range(1, studies + 1)]
    for bench in benches:
        bench.carry_out()
    database = folder / "tied.sqlite"
    asyncio.run(_keep(database, of, benches))
    for bench in benches:
        material = run_material(database, bench.run)
        yield Told(bench.mean_mm, material, bench.checked, bench.settings_checked)


async def _keep(database: Path, of: TiedStudy, benches: Sequence[Bench]) -> None:
    async with Store.opened(database) as store:
        for bench in benches:
            new = a_run("comparison", "gap", study_text=of.study_text)
            assert await store.add_run(replace(new, title="How far off")) == bench.run
            adds = [
                store.add_reading(one) if isinstance(one, NewReading) else store.add_event(one)
                for one in bench.rows
            ]
            await asyncio.gather(*adds)
