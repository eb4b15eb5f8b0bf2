"""Simulated runs with reference `gap`, whose truth is known, kept in a database."""

import asyncio
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta
from math import ceil, floor
from pathlib import Path
from random import Random

from kept_runs import ENDED, a_run
from stored_rows import A_READING, NOON

from hostctl.records import TIE_METHOD, Temperatures
from hostctl.store.rows import (
    PLUNGER_SIGN,
    TIE_CHECKED,
    TIE_CONTACT,
    NewEvent,
    NewMark,
    NewReading,
)
from hostctl.store.store import Store

SET_Z_MM, READING_Z_MM, PLUNGER_Z_MM, CONTACT_Z_MM = 0.2, 4.0, 4.3, 0.33
BLADE_STEP_MM, BLOCK_MM = 0.05, 1.0
_A_MM = SET_Z_MM - READING_Z_MM + PLUNGER_Z_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """One method in one pair of hands, mm. mean_mm: of the true gaps that it sets."""

    method: str
    mean_mm: float
    sd_mm: float = 0.008
    operator: str = "helper-1"
    point: str = "p"


@dataclass(frozen=True, slots=True, kw_only=True)
class GapRun:
    """What is simulated. moves_mm: how much the tie moves, by how many settings were read before.

    checked_after: checks come after so many settings; one more comes at the end.
    by: feelers stand at one height and know the gap between two blades; a gauge block is touched as
    finely as its scatter lets it.
    """

    hands: Sequence[Hand] = (Hand(method="paper-slip", mean_mm=0.113),)
    trials: int = 10
    target_mm: float = 0.10
    margin_mm: float | None = 0.02
    meant_mm: Mapping[str, float] = field(default_factory=dict)
    goes_by: Mapping[str, str] = field(default_factory=dict)
    beyond_mm: float = 0.002
    beyond_error_mm: float = 0.0
    constant_mm: float = 1.2037
    touch_sd_mm: float = 0.003
    step_mm: float = 0.01
    resolution_mm: float = 0.01
    grows_pressed: bool | None = True
    times: int = 5
    check_times: int = 3
    tie_points: Sequence[str] = ("p",)
    guides_mm: float | None = None
    checked_after: Sequence[int] = ()
    moves_mm: Mapping[int, float] = field(default_factory=dict)
    said_to_move: Sequence[int] = ()
    tolerance_mm: float | None = 0.05
    kind: str = "comparison"
    by: str = "touch"
    ties_bed_c: float = 22.0
    settings_bed_c: float = 22.0
    seed: int = 1

    @property
    def study_text(self) -> str:
        """The study's file, as far as a report reads it."""
        methods = [
            {
                "name": name,
                "goes_by": self.goes_by.get(name, "paper"),
                **({"meant_mm": self.meant_mm[name]} if name in self.meant_mm else {}),
            }
            for name in dict.fromkeys(hand.method for hand in self.hands)
        ]
        study: dict[str, object] = {
            "reference": "gap",
            "target_mm": self.target_mm,
            "methods": methods,
            "tie": {
                "by": self.by,
                "beyond_mm": self.beyond_mm,
                **({"guides_mm": self.guides_mm} if self.guides_mm is not None else {}),
            },
        }
        if self.margin_mm is not None:
            study["on_target_within_mm"] = self.margin_mm
        if self.tolerance_mm is not None:
            study["tolerance"] = {"within_mm": self.tolerance_mm}
        return json.dumps(study, indent=1)


@dataclass
class _Bench:
    """What happens, in order: readings, and the events among them."""

    of: GapRun
    run: int
    rng: Random
    kept: list[NewReading | NewEvent | NewMark] = field(default_factory=list)
    read: list[tuple[int, int, int, int]] = field(default_factory=list)
    moved_mm: float = 0.0
    tie_block: int = 0

    @property
    def sign(self) -> float:
        return -1.0 if self.of.grows_pressed is False else 1.0

    def setting(self, block: int, trial: int, hand: Hand) -> None:
        self.moved_mm = self.of.moves_mm.get(len(self.read), self.moved_mm)
        gap_mm = self.rng.gauss(hand.mean_mm, hand.sd_mm)
        self._keep(block, trial, hand.method, hand.operator, hand.point, gap_mm)
        self.read.append((block, 1, trial, 1))

    def tie(self, point: str, times: int) -> None:
        self.tie_block += 1
        for trial in range(1, times + 1):
            at = {"block": self.tie_block, "round": 1, "trial": trial, "attempt": 1}
            data = {
                **at,
                "point": point,
                "by": self.of.by,
                **self._met(),
                "plunger_z_mm": PLUNGER_Z_MM,
                "set_z_mm": SET_Z_MM,
                "reading_z_mm": READING_Z_MM,
            }
            self._event(TIE_CONTACT, data)
            # a touch that sees contact early or late leaves the plate, and the plunger, where it is
            pressed_mm = CONTACT_Z_MM - _A_MM + self._constant_mm + self.of.beyond_error_mm
            self._reading(
                self.tie_block, trial, TIE_METHOD, "", point, pressed_mm, self.of.ties_bed_c
            )

    def _met(self) -> dict[str, float]:
        """Between which heights the nozzle met the surface, or what lay between the two."""
        of = self.of
        contact_mm = CONTACT_Z_MM + self.rng.gauss(0.0, of.touch_sd_mm)
        if of.by == "gauge-block":
            return _heights(contact_mm + BLOCK_MM, contact_mm + BLOCK_MM, BLOCK_MM, BLOCK_MM)
        if of.by == "feelers":
            blades = floor((SET_Z_MM + 0.5 - contact_mm) / BLADE_STEP_MM)
            low_mm, high_mm = blades * BLADE_STEP_MM, (blades + 1) * BLADE_STEP_MM
            return _heights(SET_Z_MM + 0.5, SET_Z_MM + 0.5, low_mm, high_mm)
        phase_mm = self.rng.uniform(0.0, of.step_mm)
        open_mm = phase_mm + ceil((contact_mm - phase_mm) / of.step_mm) * of.step_mm
        return _heights(open_mm, open_mm - of.step_mm, 0.0, 0.0)

    def check(self, point: str, since: int, *, moved: bool) -> None:
        self.tie(point, self.of.check_times)
        data = {
            "block": self.tie_block,
            "point": point,
            "shift_mm": round(self.moved_mm, 6) if moved else 0.001,
            "limit_mm": 0.008,
            "moved": moved,
            "doubted": [list(spot) for spot in self.read[since:]] if moved else [],
        }
        self._event(TIE_CHECKED, data)

    def event(self, kind: str, data: object, text: str = "") -> None:
        self._event(kind, data, text)

    @property
    def _constant_mm(self) -> float:
        return self.of.constant_mm + self.moved_mm

    def _keep(
        self, block: int, trial: int, method: str, operator: str, point: str, gap_mm: float
    ) -> None:
        pressed_mm = self._constant_mm - gap_mm
        self._reading(block, trial, method, operator, point, pressed_mm, self.of.settings_bed_c)

    def _reading(
        self,
        block: int,
        trial: int,
        method: str,
        operator: str,
        point: str,
        pressed_mm: float,
        bed_c: float,
    ) -> None:
        step_mm = self.of.resolution_mm
        place = replace(
            A_READING.place,
            run=self.run,
            block=block,
            round=1,
            trial=trial,
            attempt=1,
            method=method,
            operator=operator,
            point=point,
        )
        reading = replace(
            A_READING.reading,
            value_mm=round(self.sign * round(pressed_mm / step_mm) * step_mm, 9),
            resolution_mm=step_mm,
            taken_at=NOON + timedelta(seconds=len(self.kept)),
            temperatures=Temperatures(nozzle_c=21.0, bed_c=bed_c),
        )
        self.kept.append(replace(A_READING, place=place, is_zero=False, reading=reading))

    def _event(self, kind: str, data: object, text: str = "") -> None:
        at = NOON + timedelta(seconds=len(self.kept))
        self.kept.append(NewEvent(run=self.run, at=at, kind=kind, text=text, data=json.dumps(data)))


def _heights(open_mm: float, closed_mm: float, low_mm: float, high_mm: float) -> dict[str, float]:
    return {
        "open_z_mm": round(open_mm, 6),
        "closed_z_mm": round(closed_mm, 6),
        "between_low_mm": round(low_mm, 6),
        "between_high_mm": round(high_mm, 6),
    }


def happenings(of: GapRun, run: int = 1) -> list[NewReading | NewEvent | NewMark]:
    """All that is kept of it, in order."""
    bench = _Bench(of=of, run=run, rng=Random(of.seed), tie_block=len(of.hands))
    if of.grows_pressed is not None:
        bench.event(PLUNGER_SIGN, {"grows_pressed": of.grows_pressed})
    for point in of.tie_points:
        bench.tie(point, of.times)
    checks = iter(sorted(of.checked_after))
    due, since, number = next(checks, None), 0, 0
    for block, hand in enumerate(of.hands, start=1):
        for trial in range(1, of.trials + 1):
            bench.setting(block, trial, hand)
            if due is not None and len(bench.read) >= due:
                number += 1
                for point in of.tie_points:
                    bench.check(point, since, moved=number in of.said_to_move)
                due, since = next(checks, None), len(bench.read)
    for point in of.tie_points:
        bench.check(point, since, moved=number + 1 in of.said_to_move)
    bench.event("ended", json.loads(ENDED), "all trials are done")
    return bench.kept


def keep_gap_runs(database: Path, *runs: GapRun) -> None:
    """Write them, numbered from 1."""
    asyncio.run(_keep(database, runs))


async def _keep(database: Path, runs: Sequence[GapRun]) -> None:
    async with Store.opened(database) as store:
        for of in runs:
            new = a_run(of.kind, "gap", study_text=of.study_text)
            run = await store.add_run(replace(new, title="Do the methods set the gap"))
            await asyncio.gather(*(_add(store, one) for one in happenings(of, run)))


async def _add(store: Store, one: NewReading | NewEvent | NewMark) -> None:
    match one:
        case NewReading():
            await store.add_reading(one)
        case NewEvent():
            await store.add_event(one)
        case NewMark():
            await store.add_mark(one)


def iterate(of: GapRun, seeds: range) -> Iterator[GapRun]:
    """The same with other dice."""
    return (replace(of, seed=seed) for seed in seeds)
