"""What a step may be: in order on this machine, in this study, and as its kind says of itself.

Each rule gives its faults, each a sentence about the kind, begun by its verb. None: it is in order.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from hostctl.config.study_kind import KindWords
from hostctl.deeds import LayBlock, PressPlunger, SetGap, TakeBlock, TurnScrew
from hostctl.records import TIE_METHOD, Place
from hostctl.run.procedures.levelling.reach import CLEARANCE_MM, reach_of
from hostctl.run.procedures.motions import (
    BringAndRead,
    BringGauge,
    CarryPlungerOver,
    ComeFrom,
    CoolBed,
    GoAway,
    GoOver,
    HomeAnew,
    LiftAway,
    Motion,
    PeoplesDeed,
    Rest,
    Service,
    StepAndRead,
    StepDeed,
    SwitchOutput,
    TieByBlock,
    TieByFeelers,
    TieByTouch,
    TieDeed,
    WarmBed,
)
from hostctl.run.procedures.procedure import NO_OPERATOR, SoFar, Trial
from hostctl.run.procedures.turning_away import turned_away

if TYPE_CHECKING:
    from hostctl.config.machine import Machine
    from hostctl.config.study import Study

Faults = Iterator[str]

LONGEST_REST_S = 3600.0
"""A step rests no longer; a longer rest is several."""

BY: Mapping[str, type[TieDeed]] = {
    "touch": TieByTouch,
    "feelers": TieByFeelers,
    "gauge-block": TieByBlock,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """The rules of one study on one machine. gauge_is_typed: whether it takes a person to read."""

    study: "Study"
    machine: "Machine"
    words: KindWords
    gauge_is_typed: bool

    def faults_of(self, trial: Trial, so_far: SoFar) -> Faults:
        """What is wrong with a step's place in the study."""
        if self._is_nowhere(trial.point):
            yield self._no_point(trial.point)
        if trial.block < 1 or trial.trial < 0:
            yield f"counts wrongly: block {trial.block}, trial {trial.trial}"
        if trial.operator not in (NO_OPERATOR, *self.study.operators):
            yield f"names '{trial.operator}', who is no operator of the study"
        if trial.spot in so_far.done:
            yield f"proposes trial {trial.trial} of block {trial.block}, which is done"

    def faults_among(self, deeds: Sequence[StepDeed], place: Place) -> Faults:
        """What is wrong with a step's deeds."""
        if not deeds:
            yield f"proposes nothing to be done at trial {place.trial} of block {place.block}"
        for number, deed in enumerate(deeds):
            before = deeds[:number]
            given: object = deed  # a stranger's code may give anything
            match given:
                case GoOver() | GoAway() | CarryPlungerOver() | BringGauge() | ComeFrom():
                    yield from self._of_motion(given, before)
                case BringAndRead() | StepAndRead():
                    yield from self._of_motion(given, before)
                case TurnScrew() | SetGap() | LayBlock() | TakeBlock() | PressPlunger():
                    yield from self._of_people(given, before, place)
                case HomeAnew() | Rest() | LiftAway() | SwitchOutput() | WarmBed() | CoolBed():
                    yield from self._of_service(given, before)
                case TieByTouch() | TieByFeelers() | TieByBlock():
                    yield from self._of_tie(given, before, place)
                case _:
                    yield f"proposes {given!r:.60}, which is no deed of a step"

    def _of_motion(self, deed: Motion, before: Sequence[StepDeed]) -> Faults:
        if self._is_nowhere(deed.point):
            yield self._no_point(deed.point)
        if any(isinstance(each, BringAndRead | StepAndRead) for each in before):
            yield "moves on after the reading; that belongs to a step of its own"
        if isinstance(deed, BringAndRead):
            yield from self._of_reading(deed, before)
        if isinstance(deed, StepAndRead):
            yield from self._of_stepping(deed)

    def _of_reading(self, deed: BringAndRead, before: Sequence[StepDeed]) -> Faults:
        if self.words.asks_nobody and self.gauge_is_typed:
            yield "reads a gauge that somebody has to type, but says that nobody is asked"
        if deed.second and self.study.second_gauge is None:
            yield "reads a second gauge, which the study does not have"
        if deed.above_mm not in self._heights(deed, before):
            yield "reads higher than on what lies there"
        blocks = [each for each in before if isinstance(each, LayBlock | TakeBlock)]
        lies = bool(blocks) and isinstance(blocks[-1], LayBlock)
        if lies and _carried_to(before) != deed.point:
            yield "reads elsewhere than on the gauge block that was laid"

    def _of_stepping(self, deed: StepAndRead) -> Faults:
        axis = self.study.axis
        if axis is None or deed.above_mm not in axis.targets_mm:
            yield f"steps to {deed.above_mm:g} mm, which is no target of the study"
        elif deed.overrun_mm != axis.overrun_mm:
            yield f"steps with an overrun of {deed.overrun_mm:g} mm, which is not the study's"

    def _heights(self, deed: BringAndRead, before: Sequence[StepDeed]) -> Collection[float | None]:
        """So much higher than usual it may read."""
        if self.words.turns_screws:
            reach = reach_of(self.study, self.machine)
            return reach.above_mm, reach.free_above_mm
        tied = before[-1:] == (TieByTouch(point=deed.point),)
        return ((self.study.tie and self.study.tie.plate_mm) or 0.0 if tied else 0.0,)

    def _of_service(self, deed: Service, before: Sequence[StepDeed]) -> Faults:
        if any(isinstance(each, BringAndRead | StepAndRead) for each in before):
            yield "goes on after the reading; that belongs to a step of its own"
        if isinstance(deed, Rest) and not 0 < deed.rest_s <= LONGEST_REST_S:
            yield f"rests {deed.rest_s:g} s, which is not up to {LONGEST_REST_S:g} s"
        if isinstance(deed, WarmBed | CoolBed):
            yield from self._of_heat(deed)
        if isinstance(deed, SwitchOutput):
            names = [output.name for output in self.machine.outputs]
            if deed.output not in names:
                yield f"switches {deed.output!r:.60}, which is no output of the machine"

    def _of_heat(self, deed: WarmBed | CoolBed) -> Faults:
        heat = self.study.loop.heat if self.study.loop else None
        if heat is None or deed.soak_s != heat.soak_s:
            yield "warms and cools the bed in a way that the study does not have"
        elif isinstance(deed, WarmBed) and deed.bed_c != heat.bed_c:
            yield f"warms the bed to {deed.bed_c:g} °C, which the study does not ask for"

    def _of_people(self, deed: PeoplesDeed, before: Sequence[StepDeed], place: Place) -> Faults:
        if self.words.asks_nobody:
            yield f"asks for hands ({deed.do}), but says that nobody is asked"
        match deed:
            case TurnScrew() if self.words.turns_screws:
                yield from self._of_levelling(deed, before, place)
            case SetGap() | TurnScrew():
                yield from self._of_setting(deed, before, place)
            case LayBlock():
                yield from self._of_laying(deed, before, place)
            case TakeBlock():
                pass  # it can always go away
            case PressPlunger():
                if before:
                    yield "has the plunger pressed where that is not the first deed of a step"

    def _of_setting(
        self, deed: SetGap | TurnScrew, before: Sequence[StepDeed], place: Place
    ) -> Faults:
        if not self.words.people_set:
            yield f"has something set ({deed.do}), but says that nobody sets anything"
        motions = [each for each in before if isinstance(each, Motion)]
        if motions[-1:] != [GoOver(point=place.point)]:
            yield f"has something set ({deed.do}) where the nozzle is not over {place.point}"
        if isinstance(deed, SetGap):
            if deed.method not in [method.name for method in self.study.methods]:
                yield f"has the gap set by '{deed.method}', which is no method of the study"
        elif not 0 < deed.turn_deg <= 360 or deed != self._lowered_at(place, deed.turn_deg):
            yield f"has a screw turned so that the bed is not lowered at {place.point}"

    def _of_levelling(self, deed: TurnScrew, before: Sequence[StepDeed], place: Place) -> Faults:
        """Any turn that can't bring the bed to the nozzle at the clear height by itself."""
        screw = next((each for each in self.machine.screws if each.name == deed.screw), None)
        if screw is None or deed.direction is None:
            yield f"has the screw '{deed.screw}' turned, which the machine does not have"
            return
        most_mm = self.machine.clear_z_mm - CLEARANCE_MM
        if not 0 < deed.turn_deg * screw.pitch_mm / 360 <= most_mm:
            yield f"has a screw turned {deed.turn_deg:g}°, which is not up to {most_mm:g} mm"
        gauge_mm = reach_of(self.study, self.machine).above_mm
        motions = [each for each in before if isinstance(each, Motion)]
        over = BringGauge(point=place.point, above_mm=gauge_mm)
        if not motions or not (motions[-1] == over or isinstance(motions[-1], GoOver)):
            yield "has a screw turned where the gauge is not over it, nor the head up"

    def _of_laying(self, deed: LayBlock, before: Sequence[StepDeed], place: Place) -> Faults:
        if before[-1:] != (CarryPlungerOver(point=place.point),):
            yield f"has the gauge block laid where the plunger is not over {place.point}"
        if self.study.reference != "datum" or deed.thick_mm != self.study.gauge.block_mm:
            yield "has a gauge block laid that the study does not have"

    def _of_tie(self, deed: TieDeed, before: Sequence[StepDeed], place: Place) -> Faults:
        tie = self.study.tie
        if tie is None or not self.words.makes_ties or not isinstance(deed, BY[tie.by.value]):
            yield "ties the indicator to the nozzle in a way that the study does not have"
        if self.words.asks_nobody:
            yield "asks for hands at a tie, but says that nobody is asked"
        if before or deed.point != place.point or place.method != TIE_METHOD:
            yield "makes a tie that is no step of its own"

    def _lowered_at(self, place: Place, turn_deg: float) -> TurnScrew:
        return turned_away(self.machine, place.point, turn_deg)

    def _is_nowhere(self, name: str) -> bool:
        return name not in [point.name for point in self.machine.points]

    def _no_point(self, name: str) -> str:
        return f"goes to {name!r:.60}, which is no point of machine '{self.machine.machine}'"


def _carried_to(before: Sequence[StepDeed]) -> str | None:
    """Where the plunger was carried to last."""
    carried = [each.point for each in before if isinstance(each, CarryPlungerOver)]
    return carried[-1] if carried else None
