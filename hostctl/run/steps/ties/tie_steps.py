"""Ties carried out: the nozzle told of the surface, and whatever is laid in the machine for it."""

from hostctl.config.machine import Point
from hostctl.config.parts.tie import TieBy
from hostctl.config.study import Study
from hostctl.gauges.contact import Contact
from hostctl.gauges.gauge import Gauge
from hostctl.machine.machine import Machine
from hostctl.records import Place, TieContact
from hostctl.run.asking import Asking
from hostctl.run.order import RunOrder
from hostctl.run.procedures.motions import TieByBlock, TieByFeelers, TieByTouch, TieDeed
from hostctl.run.procedures.tying import tie_of
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress
from hostctl.run.steps.sign import find_sign
from hostctl.run.steps.sources import Sources
from hostctl.run.steps.ties import tie_words
from hostctl.run.steps.ties.blades import Blades
from hostctl.run.steps.ties.touching import Touching


class TieSteps:
    """The ties of one run."""

    @classmethod
    def of(
        cls,
        order: RunOrder,
        machine: Machine,
        sources: Sources,
        asking: Asking,
        journal: Journal,
        progress: Progress,
    ) -> "TieSteps":
        """Those of a run."""
        return cls(
            study=order.study,
            machine=machine,
            gauge=sources.gauge,
            asking=asking,
            journal=journal,
            progress=progress,
            contact=sources.contact,
            things_may_be_in=order.resume is not None,
        )

    def __init__(
        self,
        *,
        study: Study,
        machine: Machine,
        gauge: Gauge,
        asking: Asking,
        journal: Journal,
        progress: Progress,
        contact: Contact | None,
        things_may_be_in: bool,
    ) -> None:
        """contact: what tells of it by itself. things_may_be_in: as after a run that stopped."""
        self._study = study
        self._tie = tie_of(study)
        self._machine = machine
        self._gauge = gauge
        self._asking = asking
        self._journal = journal
        self._progress = progress
        self._blades = Blades(machine, asking)
        self._touching = Touching(
            tie=self._tie, machine=machine, asking=asking, journal=journal, contact=contact
        )
        self.things_in = False
        """Whether leads, plate, blades or block may be in the machine."""
        self._put_in(may_be=things_may_be_in)

    # ------------------------------------------------------------ what is laid in the machine

    async def clear_away(self) -> None:
        """Before the study goes on, and before the head parks."""
        if self.things_in:
            await self._asking.before_motion("The head lifts.")
            await self._machine.lift()
            await self._ask_away("The head lifts and goes on.")

    async def clear_away_before_homing(self) -> None:
        """Where the head is may be unknown, so it stays there."""
        if self.things_in:
            await self._ask_away("The head rises, then all axes home.")
        self.forget()

    def forget(self) -> None:
        """Somebody may have moved something, or the machine was homed anew."""
        self._touching.forget()

    async def _ask_away(self, then: str) -> None:
        await self._asking.ask(tie_words.clear_away(self._tie, then))
        self._put_in(may_be=False)
        self._touching.unwired()

    def _put_in(self, *, may_be: bool) -> None:
        self.things_in = may_be
        stand_mm = self._tie.stands_mm if may_be and self._tie.by is TieBy.TOUCH else 0.0
        self._machine.envelope.things_stand_mm = stand_mm

    def left_in(self) -> str:
        """What whoever ended the run must know of what lies in the machine; empty: nothing."""
        return tie_words.left_in(self._tie) if self.things_in else ""

    # ------------------------------------------------------------ a tie

    async def carry_out(self, deed: TieDeed, place: Place, point: Point) -> None:
        """One observation, but for its reading; what it says is on disk.

        Raises what breaks into it, TieFault and TieRefused among it.
        """
        if self._progress.grows_pressed is None:
            await find_sign(
                point,
                place,
                gauge=self._gauge,
                asking=self._asking,
                journal=self._journal,
                progress=self._progress,
                study=self._study,
            )
        match deed:
            case TieByTouch():
                self._put_in(may_be=True)
                open_z_mm, closed_z_mm = await self._touching.touch(place, point)
                contact = self._contact(open_z_mm, closed_z_mm, (0.0, 0.0))
            case TieByFeelers():
                contact = await self._by_feelers(place, point)
            case TieByBlock():
                contact = await self._by_block(place, point)
        await self._journal.keep_contact(place, contact)
        self._progress.touch(place, contact)

    async def _by_feelers(self, place: Place, point: Point) -> TieContact:
        z_mm = self._machine.config.set_z_mm
        await self._come_over(point, z_mm)
        self._put_in(may_be=True)
        bracket = await self._blades.bracket(
            place, z_mm, "The head lifts and brings the indicator over the same place."
        )
        self._put_in(may_be=False)
        stood_mm = bracket.z_try_mm
        return self._contact(stood_mm, stood_mm, (bracket.in_mm, bracket.out_mm))

    async def _by_block(self, place: Place, point: Point) -> TieContact:
        block_mm = self._tie.block_mm or 0.0
        z_mm = self._machine.config.set_z_mm + block_mm
        await self._come_over(point, z_mm)
        self._put_in(may_be=True)
        await self._asking.ask(tie_words.set_on_block(block_mm, point.name), place)
        await self.clear_away()
        return self._contact(z_mm, z_mm, (block_mm, block_mm))

    async def _come_over(self, point: Point, z_mm: float) -> None:
        await self._asking.go_on(f"The head goes over {point.name}, and lowers to z {z_mm:.2f} mm.")
        await self._machine.lift()
        await self._machine.go_over(point.x_mm, point.y_mm)
        await self._machine.lower_to(z_mm)

    def _contact(
        self, open_z_mm: float, closed_z_mm: float, between_mm: tuple[float, float]
    ) -> TieContact:
        file = self._machine.config
        reading_z_mm = file.indicator.reading_z_mm if file.indicator else 0.0
        above_mm = (self._tie.plate_mm or 0.0) if self._tie.by is TieBy.TOUCH else 0.0
        return TieContact(
            by=self._tie.by.value,
            open_z_mm=open_z_mm,
            closed_z_mm=closed_z_mm,
            between_low_mm=between_mm[0],
            between_high_mm=between_mm[1],
            plunger_z_mm=round(reading_z_mm + above_mm, 4),
            set_z_mm=file.set_z_mm,
            reading_z_mm=reading_z_mm,
        )
