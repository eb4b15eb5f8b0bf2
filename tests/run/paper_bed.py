"""A levelling gone through on paper: the real procedure and rules, a simulated bed, no machine."""

import json
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from random import Random

from hostctl_simulators.bed.bed import Bed
from hostctl_simulators.physical.build import Build
from hostctl_simulators.physical.printers import PRINTERS
from workshop import EPOCH

from hostctl.config.grid import level_points, with_grid
from hostctl.config.machine import BedScrew, Indicator, Machine, Point, Probe, Span, Travel, Turn
from hostctl.config.parts.gauge import Gauge
from hostctl.config.parts.level import Level
from hostctl.config.study import Cycle, Study
from hostctl.deeds import PressPlunger, TurnScrew
from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.run.procedures.levelling.reach import reach_of
from hostctl.run.procedures.motions import BringAndRead, HomeAnew, StepDeed
from hostctl.run.procedures.procedure import Decision, Finished, ProcedureParts, Trial
from hostctl.run.procedures.proposals import Proposals
from hostctl.run.record.progress import Progress

HOMES_WITHIN_MM = 0.004


def level_study(**changes: object) -> Study:
    """Four corners, two passes, typed to 0.01 mm."""
    given: dict[str, object] = {
        "study": "level",
        "title": "A bed levelled",
        "kind": "level",
        "points": ["front-left", "front-right", "back-left", "back-right"],
        "trials": 2,
        "level": Level(grid=None),
        "cycle": Cycle(settle_s=1.0, countdown_s=3, turn_away=None),
        "gauge": Gauge(kind="typed", resolution_mm=0.01, plausible_mm=6.0),
    }
    return Study.model_validate(given | changes, strict=False)


def machine_for(bed: Bed, **changes: object) -> Machine:
    """The file of a machine with this bed, 220 x 220 mm."""
    corners = {(left, front): None for front in (30.0, 190.0) for left in (30.0, 190.0)}
    names = ("front-left", "front-right", "back-left", "back-right")
    given: dict[str, object] = {
        "machine": "paper",
        "port": "sim://workshop-220",
        "travel": Travel(
            x=Span(from_mm=0, to_mm=220), y=Span(from_mm=0, to_mm=220), z=Span(from_mm=0, to_mm=250)
        ),
        "points": [
            Point(name=name, x_mm=x, y_mm=y) for name, (x, y) in zip(names, corners, strict=True)
        ],
        "screws": [
            BedScrew(
                name=screw.name,
                x_mm=screw.x_mm,
                y_mm=screw.y_mm,
                pitch_mm=screw.pitch_mm,
                raises_bed=Turn(screw.raises),
                can_raise_mm=screw.travel_mm,
                can_lower_mm=screw.travel_mm,
            )
            for screw in bed.kind.screws
        ],
        "indicator": Indicator(offset_x_mm=25.0),
        "probe": Probe(),
    }
    return Machine.model_validate(given | changes, strict=False)


def bed_built(seed: int = 7, **built: object) -> Bed:
    """A bed of the 220 x 220 mm printer."""
    kind = Build(**{"bed_mm": -0.9, **built}).of(PRINTERS["workshop-220"])  # type: ignore[arg-type]
    return Bed(kind.bed, seed)


Hands = Callable[[TurnScrew, Bed], None]


def as_told(deed: TurnScrew, bed: Bed) -> None:
    """Turned just so."""
    assert deed.direction is not None
    bed.turn(deed.screw, deed.turn_deg, deed.direction)


def other_way(deed: TurnScrew, bed: Bed) -> None:
    """Turned the other way."""
    way = "anticlockwise" if deed.direction == "clockwise" else "clockwise"
    bed.turn(deed.screw, deed.turn_deg, way)  # type: ignore[arg-type]


@dataclass
class PaperLevelling:
    """One levelling. hands: what becomes of a turn. sd_mm: of one reading. grows: the gauge."""

    bed: Bed
    study: Study = field(default_factory=level_study)
    machine: Machine | None = None
    hands: Hands = as_told
    sd_mm: float = 0.004
    grows: bool = True
    said_to_grow: bool | None = None  # None: as it is
    seed: int = 7
    before_read: Callable[["PaperLevelling", Place], None] = lambda *_: None
    asked: list[TurnScrew] = field(default_factory=list)
    steps: list[tuple[Place, tuple[StepDeed, ...]]] = field(default_factory=list)
    shown_mm: float = 3.0  # where the bezel stands
    nearest_mm: float = math.inf  # bed to nozzle, had a turn been made the other way
    deepest_mm: float = 0.0  # the plunger, then

    def __post_init__(self) -> None:
        self.machine = with_grid(self.study, self.machine or machine_for(self.bed))
        parts = ProcedureParts(study=self.study, machine=self.machine, seed=1, zeros=False)
        self.proposals = Proposals(parts, gauge_is_typed=self.study.gauge.kind == "typed")
        self.progress = Progress(self.proposals.most_trials)
        self.reach = reach_of(self.study, self.machine)
        self.points = {point.name: point for point in self.machine.points}
        self.chance = Random(self.seed)
        self.home_mm = 0.0
        self.finished: Finished | None = None
        self.passed_s = 0.0

    @property
    def decisions(self) -> list[Decision]:
        return list(self.progress.so_far.decisions)

    @property
    def rounds(self) -> list[dict[str, object]]:
        return [dict(one.data) for one in self.decisions if one.kind == "levelled"]

    @property
    def verdicts(self) -> list[object]:
        return [one["verdict"] for one in self.rounds]

    def go(self, most: int = 10_000) -> str:
        """To the end, or so many steps; gives why it ended."""
        for _ in range(most):
            proposed = self.proposals.next(self.progress.so_far)
            match proposed:
                case Finished():
                    self.finished = proposed
                    return proposed.reason
                case Decision():
                    data = json.loads(json.dumps(dict(proposed.data)))
                    self.progress.decide(
                        Decision(what=proposed.what, data=data, kind=proposed.kind)
                    )
                case Trial():
                    self._step(proposed)
        return ""

    def tilt_mm(self) -> float:
        """Of the plane of the bed as it is, over points and screws."""
        import numpy as np

        spots = [(p.x_mm, p.y_mm) for p in map(self.points.get, self._met()) if p is not None]
        arms = np.array([[1.0, x, y] for x, y in spots])
        heights = np.array([self.bed.height_mm(x, y) for x, y in spots])
        plane, *_ = np.linalg.lstsq(arms, heights, rcond=None)
        spots += [(screw.x_mm, screw.y_mm) for screw in self.machine.screws]
        flat = np.array([[1.0, x, y] for x, y in spots]) @ plane
        return float(flat.max() - flat.min())

    def _met(self) -> list[str]:
        return [str(one["point"]) for one in self.rounds[-1]["heights"]]

    def _step(self, trial: Trial) -> None:
        place = self.progress.place(1, trial)
        deeds = self.proposals.deeds(place, self.progress.so_far)
        self.steps.append((place, deeds))
        for deed in deeds:
            match deed:
                case PressPlunger():
                    said = self.grows if self.said_to_grow is None else self.said_to_grow
                    self.progress.grows_pressed = said
                case HomeAnew():
                    self.home_mm = self.chance.gauss(0.0, HOMES_WITHIN_MM)
                case TurnScrew():
                    self._turn(deed)
                case BringAndRead():
                    self.before_read(self, place)
                    self.progress.keep(place, self._reading(deed))
                    return
        self.progress.carry_out(place)

    def _turn(self, deed: TurnScrew) -> None:
        self.asked.append(deed)
        before = {name: screw.height_mm for name, screw in self.bed.screws.items()}
        other_way(deed, self.bed)
        self._look_how_near()
        for name, height_mm in before.items():
            self.bed.screws[name].height_mm = height_mm
        self.hands(deed, self.bed)

    def _look_how_near(self) -> None:
        met = [self.points[name] for name in level_points(self.study)]
        aside_mm = self.reach.gauge_x_mm
        under_nozzle = max(self.bed.height_mm(p.x_mm - aside_mm, p.y_mm) for p in met)
        under_gauge = max(self.bed.height_mm(p.x_mm, p.y_mm) for p in met)
        highest_mm = max(under_nozzle, under_gauge)
        self.nearest_mm = min(self.nearest_mm, self.reach.turning_z_mm - highest_mm)
        self.deepest_mm = max(self.deepest_mm, self.reach.press_mm + under_gauge)

    def _reading(self, deed: BringAndRead) -> Reading:
        point = self.points[deed.point]
        height_mm = self.bed.height_mm(point.x_mm, point.y_mm) - self.home_mm
        value_mm = height_mm + self.chance.gauss(0.0, self.sd_mm)
        step_mm = 0.0025
        if self.reach.lowest_mm is not None:
            step_mm = self.study.gauge.resolution_mm
            pressed_mm = value_mm + self.reach.press_mm - (deed.above_mm - self.reach.above_mm)
            moved_mm = max(pressed_mm, 0.0)
            value_mm = self.shown_mm + (moved_mm if self.grows else -moved_mm)
        self.passed_s += 60.0
        return Reading(
            value_mm=round(round(value_mm / step_mm) * step_mm, 6),
            resolution_mm=step_mm,
            taken_at=EPOCH + timedelta(seconds=self.passed_s),
            source="paper",
            at=Position(x_mm=0.0, y_mm=0.0, z_mm=0.0),
            temperatures=Temperatures(),
        )
