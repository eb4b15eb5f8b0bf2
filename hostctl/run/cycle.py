"""The cycle: the motions and prompts of one trial, in order."""

from dataclasses import dataclass

from hostctl.config.machine import Point
from hostctl.config.study import Order, Reference, Study, StudyKind
from hostctl.gauges.gauge import Gauge
from hostctl.machine.machine import Machine
from hostctl.records import Place, Position
from hostctl.run import wording
from hostctl.run.asking import Asking
from hostctl.run.schedule import turn_away_deg
from hostctl.run.taking import Taking


@dataclass(frozen=True, slots=True)
class AwaitingZero:
    """The indicator still shows the reading of `place` and is to be zeroed there (`previous`)."""

    place: Place
    expected: Position


class Cycle:
    """One study's way of doing a trial on one machine."""

    def __init__(
        self,
        *,
        study: Study,
        seed: int,
        machine: Machine,
        gauge: Gauge,
        asking: Asking,
        taking: Taking,
    ) -> None:
        self._study = study
        self._seed = seed
        self._machine = machine
        self._gauge = gauge
        self._asking = asking
        self._taking = taking
        self._awaiting_zero: AwaitingZero | None = None
        self._dial_was_zeroed = False
        self._block_may_lie_on_bed = False

    def forget_zero(self) -> None:
        """The machine was homed anew: the indicator's zero means nothing any more."""
        self._awaiting_zero = None
        self._dial_was_zeroed = False

    async def carry_out(self, place: Place) -> None:
        """One trial, to the reading on disk.

        Raises what breaks into it: the operator's words, a fault, StoreError. Then it is not kept.
        """
        await self._take_block_away(place)
        await self._zero_again()
        point = wording.point_called(self._machine.config, place.point)
        if self._is_datum_zero(place):
            await self._take_datum(place, point)
            return
        if self._study.kind is StudyKind.COMPARISON:
            await self._set(place, point)
        elif self._study.kind is StudyKind.RIG_CHECK:
            await self._go_away(point)
        await self._read(place, point)

    async def clear_bed_for_homing(self, place: Place) -> None:
        """Homing crosses and touches the bed: a gauge block left there must go first."""
        if self._block_may_lie_on_bed:
            words = wording.take_block_before_homing(self._study)
            await self._asking.ask(words, place)
            self._block_may_lie_on_bed = False

    async def dry_cycles(self, point_name: str, times: int) -> None:
        """The cycle's motions without its prompts, so that grease and screws settle."""
        point = wording.point_called(self._machine.config, point_name)
        for done in range(times):
            self._asking.move_on(f"Dry cycle {done + 1} of {times}: nothing is read.")
            await self._over(point)
            await self._gauge.bring(point)

    # ------------------------------------------------------------ the parts of a trial

    async def _set(self, place: Place, point: Point) -> None:
        """Have the screw turned away, then the gap set."""
        await self._asking.before_motion(f"The head lifts and goes over {point.name}.")
        await self._over(point)
        turn_deg = turn_away_deg(self._study, self._seed, place)
        if turn_deg:
            await self._turn_away(place, turn_deg)
            await self._asking.before_motion(f"The head lowers to the set height at {point.name}.")
        await self._machine.lower_to(self._machine.config.set_z_mm)
        await self._asking.ask(wording.set_gap(self._study, place), place)

    async def _turn_away(self, place: Place, turn_deg: int) -> None:
        """Nothing of this trial is done yet, so a redo here means the one just read."""
        just_kept = self._taking.just_kept(place)
        words = wording.turn_away(
            self._machine.config, place, turn_deg, just_kept, self._study.warmth
        )
        await self._asking.ask(words, place, redo_takes=just_kept)

    async def _go_away(self, point: Point) -> None:
        """Lift and go away, so that coming back is part of the reading."""
        await self._asking.before_motion(f"The head lifts, goes away and back to {point.name}.")
        await self._over(point)

    async def _read(self, place: Place, point: Point) -> None:
        what = f"The head brings the {wording.instrument(self._study)} over {point.name}."
        if self._study.kind is StudyKind.COMPARISON:
            await self._asking.before_motion(what)
        else:
            self._asking.move_on(what)
        expected = await self._gauge.bring(point)
        await self._taking.take(place, point, expected, zero_by_hand=self._dial_may_be_turned())
        if place.trial == 0:
            self._dial_was_zeroed = True
        elif self._study.reference is Reference.PREVIOUS:
            self._awaiting_zero = AwaitingZero(place, expected)

    async def _take_datum(self, place: Place, point: Point) -> None:
        """The block's zero is read on a gauge block."""
        block_mm = self._study.gauge.block_mm
        await self._asking.before_motion(f"The head lifts and goes to {point.name}.")
        await self._plunger_over(point)
        self._block_may_lie_on_bed = True
        await self._asking.ask(wording.lay_block(self._study, place), place)
        await self._asking.before_motion("The head lowers the plunger onto the gauge block.")
        expected = await self._gauge.bring(point, block_mm)
        await self._taking.take(place, point, expected, zero_by_hand=self._dial_may_be_turned())
        self._dial_was_zeroed = True
        await self._take_block_away(place)

    async def _take_block_away(self, place: Place) -> None:
        """Before anything goes sideways."""
        if self._block_may_lie_on_bed:
            await self._asking.before_motion("The head lifts off the gauge block.")
            await self._machine.lift()
            await self._asking.ask(wording.take_block(self._study), place)
            self._block_may_lie_on_bed = False

    async def _zero_again(self) -> None:
        """With reference `previous` the indicator is zeroed where it was just read."""
        awaiting = self._awaiting_zero
        if awaiting is not None:
            await self._machine.check_at(awaiting.expected)
            await self._taking.zero_again(awaiting.place)
            self._awaiting_zero = None

    # ------------------------------------------------------------ motions

    async def _over(self, point: Point) -> None:
        await self._machine.lift()
        await self._machine.go_over(point.x_mm, point.y_mm)

    async def _plunger_over(self, point: Point) -> None:
        indicator = self._machine.config.indicator
        await self._machine.lift()
        if indicator is not None:
            await self._machine.go_over(
                point.x_mm - indicator.offset_x_mm, point.y_mm - indicator.offset_y_mm
            )

    def _dial_may_be_turned(self) -> bool:
        """In mixed order the indicator is zeroed once: other blocks count on it."""
        return self._study.order is Order.BLOCKED or not self._dial_was_zeroed

    def _is_datum_zero(self, place: Place) -> bool:
        return place.trial == 0 and self._study.reference is Reference.DATUM
