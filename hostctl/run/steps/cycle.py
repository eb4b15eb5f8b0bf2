"""The cycle: the deeds of one step carried out in order, each safely."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import assert_never

from hostctl.config.machine import Point
from hostctl.config.study import Order, Reference, Study
from hostctl.deeds import LayBlock, PressPlunger, SetGap, TakeBlock, TurnScrew
from hostctl.gauges.gauge import Gauge
from hostctl.machine.machine import Machine
from hostctl.records import Place, Position
from hostctl.run import wording
from hostctl.run.asking import Asking
from hostctl.run.procedures.levelling.reach import reach_of
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
    PeoplesDeed,
    Rest,
    StepAndRead,
    StepDeed,
    SwitchOutput,
    TieByBlock,
    TieByFeelers,
    TieByTouch,
    TieDeed,
    WarmBed,
)
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress
from hostctl.run.steps.changing import Changing
from hostctl.run.steps.levelling.turning import Turning
from hostctl.run.steps.presence import Presence
from hostctl.run.steps.reader import Reader
from hostctl.run.steps.service import Servicing
from hostctl.run.steps.sign import find_sign
from hostctl.run.steps.stepping import stepped_to
from hostctl.run.steps.ties.tie_steps import TieSteps
from hostctl.run.steps.ways import Ways


@dataclass(frozen=True, slots=True)
class AwaitingZero:
    """The indicator still shows the reading of `place` and is to be zeroed there (`previous`)."""

    place: Place
    expected: Position


class Cycle:
    """Carries out steps on one machine."""

    def __init__(
        self,
        *,
        study: Study,
        machine: Machine,
        reader: Reader,
        second: Reader | None,
        asking: Asking,
        ties: TieSteps | None,
        presence: Presence,
        journal: Journal,
        progress: Progress,
        points: Sequence[Point],
    ) -> None:
        """second: None where the study has one gauge alone.  ties: None where it makes none.

        points: the machine's, and those of a grid.
        """
        self._study = study
        self._journal = journal
        self._progress = progress
        self._points = {point.name: point for point in points}
        self._turning = Turning(study, machine.config, reader.gauge, asking)
        self._machine = machine
        self._ways = Ways(machine)
        self._reader, self._second = reader, second
        self._gauge, self._taking = reader.gauge, reader.taking
        self._instrument = reader.instrument
        self._asking = asking
        self._ties = ties
        self._servicing = Servicing(
            study=study,
            machine=machine,
            asking=asking,
            journal=journal,
            progress=progress,
            presence=presence,
        )
        self._changing = Changing(study, machine, asking)
        self._awaiting_zero: AwaitingZero | None = None
        self._dial_was_zeroed = False
        self._block_may_lie_on_bed = False

    def forget_zero(self) -> None:
        """The machine was homed anew: the indicator's zero means nothing any more."""
        self._awaiting_zero = None
        self._dial_was_zeroed = False

    async def carry_out(self, place: Place, deeds: Sequence[StepDeed]) -> None:
        """One step, to the reading on disk where there is one.

        Raises what breaks into it: the operator's words, a fault, StoreError. Then it is not kept.
        """
        await self._take_block_away(place)
        await self._zero_again()
        if self._ties and not isinstance(deeds[0], TieDeed):
            await self._ties.clear_away()
        await self._changing.to(place)
        for deed in deeds:
            await self._do(deed, place)

    async def clear_bed_for_homing(self, place: Place) -> None:
        """Homing crosses and touches the bed: a gauge block left there must go first."""
        if self._block_may_lie_on_bed:
            words = wording.take_block_before_homing()
            await self._asking.ask(words, place)
            self._block_may_lie_on_bed = False

    async def dry_cycles(self, point_name: str, times: int) -> None:
        """The cycle's motions without its prompts, so that grease and screws settle."""
        point = self._point(point_name)
        for done in range(times):
            self._asking.move_on(f"Dry cycle {done + 1} of {times}: nothing is read.")
            await self._ways.over(point)
            await self._gauge.bring(point, slowly=self._turning.levels)

    # ------------------------------------------------------------ the deeds of a step

    async def _do(self, deed: StepDeed, place: Place) -> None:
        match deed:
            case GoOver() | GoAway() | CarryPlungerOver() | ComeFrom():
                await self._go(deed, place)
            case BringAndRead():
                await self._bring_and_read(deed, place)
            case StepAndRead():
                await self._step_and_read(deed, place)
            case BringGauge(point=name, above_mm=above_mm):
                await self._bring(self._point(name), above_mm)
            case TieByTouch(point=name) | TieByFeelers(point=name) | TieByBlock(point=name):
                assert self._ties is not None  # the rules let none else through
                await self._ties.carry_out(deed, place, self._point(name))
            case HomeAnew():
                self.forget_zero()
                await self._servicing.carry_out(deed)
            case Rest() | LiftAway() | SwitchOutput() | WarmBed() | CoolBed():
                await self._servicing.carry_out(deed)
            case _:
                await self._by_hand(deed, place)

    async def _by_hand(self, deed: PeoplesDeed, place: Place) -> None:
        match deed:
            case TurnScrew():
                await self._turning.turn(deed, place, self._taking.just_kept(place))
            case SetGap():
                await self._set_gap(place)
            case LayBlock():
                self._block_may_lie_on_bed = True
                await self._asking.ask(wording.lay_block(self._study, place), place)
            case TakeBlock():
                await self._take_block_away(place)
            case PressPlunger():
                await self._find_sign(place)
            case never:
                assert_never(never)

    async def put_probe_in(self) -> None:
        """Where an output does it, before the head goes where nothing is touched."""
        await self._servicing.put_probe_in()

    async def _go(self, deed: GoOver | GoAway | CarryPlungerOver | ComeFrom, place: Place) -> None:
        """Sideways, high up."""
        point = self._point(deed.point)
        await self._take_block_away(place)
        match deed:
            case GoOver():
                await self._asking.before_motion(f"The head lifts and goes over {point.name}.")
                await self._ways.over(point)
            case GoAway():
                what = f"The head lifts, goes away and back to {point.name}."
                await self._asking.before_motion(what)
                await self._ways.over(point)
            case CarryPlungerOver():
                await self._asking.before_motion(f"The head lifts and goes to {point.name}.")
                await self._ways.plunger_over(point)
            case ComeFrom(side=side, by_mm=by_mm):
                await self._asking.go_on(f"The head lifts and comes over {point.name}.")
                await self._ways.come_from(point, side, by_mm)

    async def _set_gap(self, place: Place) -> None:
        """At the set height; the head is over the point already."""
        if not self._machine.permit.given:
            what = f"The head lowers to the set height at {place.point}."
            await self._asking.before_motion(what)
        await self._machine.lower_to(self._machine.config.set_z_mm)
        await self._asking.ask(wording.set_gap(self._study, place), place)

    async def _bring_and_read(self, deed: BringAndRead, place: Place) -> None:
        point, by = self._point(deed.point), self._reader
        if deed.second and self._second is not None:
            by = self._second
        if self._block_may_lie_on_bed:
            await self._asking.before_motion("The head lowers the plunger onto the gauge block.")
            expected = await by.gauge.bring(point, self._study.gauge.block_mm)
        else:
            await self._asking.go_on(f"The head brings the {by.instrument} over {point.name}.")
            expected = await by.gauge.bring(point, deed.above_mm, slowly=deed.slowly)
        await by.taking.take(place, point, expected, zero_by_hand=self._dial_may_be_turned())
        if place.trial == 0:
            self._dial_was_zeroed = True
        elif self._study.reference is Reference.PREVIOUS:
            self._awaiting_zero = AwaitingZero(place, expected)

    async def _step_and_read(self, deed: StepAndRead, place: Place) -> None:
        point = self._point(deed.point)
        await self._asking.go_on(f"The head comes to the next height from {deed.coming_from}.")
        expected = await stepped_to(
            deed, point, self._machine, self._gauge, self._study.cycle.settle_s
        )
        await self._taking.take(place, point, expected, zero_by_hand=False, near_mm=deed.shows_mm)

    # ------------------------------------------------------------ kept in order by the run itself

    async def _bring(self, point: Point, above_mm: float) -> None:
        await self._asking.go_on(f"The head brings the {self._instrument} over {point.name}.")
        await self._gauge.bring(point, above_mm, slowly=self._turning.levels)

    async def _find_sign(self, place: Place) -> None:
        reach = reach_of(self._study, self._machine.config) if self._turning.levels else None
        await find_sign(
            self._point(place.point),
            place,
            gauge=self._plunger_gauge,
            asking=self._asking,
            journal=self._journal,
            progress=self._progress,
            study=self._study,
            free_mm=reach.free_above_mm if reach else None,
        )

    @property
    def _plunger_gauge(self) -> Gauge:
        """The gauge with a plunger, where the other is the machine's own probe."""
        second = self._second
        return second.gauge if second is not None and self._gauge.own_zero else self._gauge

    async def _take_block_away(self, place: Place) -> None:
        """Before anything goes sideways."""
        if self._block_may_lie_on_bed:
            await self._asking.before_motion("The head lifts off the gauge block.")
            await self._machine.lift()
            await self._asking.ask(wording.take_block(), place)
            self._block_may_lie_on_bed = False

    async def _zero_again(self) -> None:
        """With reference `previous` the indicator is zeroed where it was just read."""
        awaiting = self._awaiting_zero
        if awaiting is not None:
            await self._machine.check_at(awaiting.expected)
            await self._taking.zero_again(awaiting.place)
            self._awaiting_zero = None

    def _dial_may_be_turned(self) -> bool:
        """In mixed order the indicator is zeroed once: other blocks count on it."""
        return self._study.order is Order.BLOCKED or not self._dial_was_zeroed

    def _point(self, name: str) -> Point:
        return self._points[name]
