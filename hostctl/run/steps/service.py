"""What a step does beside motion and reading: homing, resting, outputs, warming and cooling."""

from typing import assert_never

from hostctl.config.study import Study
from hostctl.machine.machine import Machine
from hostctl.records import Heat
from hostctl.run.asking import Asking
from hostctl.run.procedures.motions import (
    CoolBed,
    HomeAnew,
    LiftAway,
    Rest,
    Service,
    SwitchOutput,
    WarmBed,
)
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress
from hostctl.run.steps.presence import Presence
from hostctl.store.rows import HOMED


class Servicing:
    """Of one run."""

    def __init__(
        self,
        *,
        study: Study,
        machine: Machine,
        asking: Asking,
        journal: Journal,
        progress: Progress,
        presence: Presence,
    ) -> None:
        self._loop = study.loop
        self._machine = machine
        self._asking = asking
        self._journal = journal
        self._progress = progress
        self._presence = presence
        self._bed_is: WarmBed | CoolBed | None = None

    async def carry_out(self, deed: Service) -> None:
        """Raises the operator's words, a fault, or that nobody said that they are there."""
        match deed:
            case HomeAnew():
                await self._home_anew()
            case Rest(rest_s=rest_s):
                await self._asking.rest(rest_s)
            case LiftAway():
                await self._asking.go_on("The head lifts.")
                await self._machine.lift()
            case SwitchOutput(output=output):
                await self._asking.go_on(f"Output {output} is switched.")
                await self._machine.switch(output)
            case WarmBed():
                await self._warm(deed)
            case CoolBed():
                await self._cool(deed)
            case never:
                assert_never(never)

    async def put_probe_in(self) -> None:
        """Before the head goes where nothing is touched; nothing where no output does it."""
        if self._loop is not None and self._loop.probe_in is not None:
            await self._machine.switch(self._loop.probe_in)

    async def _home_anew(self) -> None:
        await self._asking.go_on("The head rises, then all axes home anew.")
        await self._machine.home()
        self._progress.homed()
        await self._journal.note_between(HOMED, "anew")

    async def _warm(self, deed: WarmBed) -> None:
        """Nothing but a look whether somebody is there, where it is warm already."""
        if self._bed_is == deed and self._machine.heaters.may_be_on:
            await self._presence.check()
            return
        self._bed_is = None
        await self._machine.heaters.warm_bed(deed.bed_c, deed.soak_s, self._look_up)
        self._bed_is = deed

    async def _cool(self, deed: CoolBed) -> None:
        if self._bed_is == deed:
            return
        self._bed_is = None
        await self._machine.heaters.cool_bed(deed.soak_s, self._look_up)
        self._bed_is = deed

    async def _look_up(self, heat: Heat) -> None:
        await self._presence.check()
        way = "is heated" if self._machine.heaters.may_be_on else "cools"
        is_c = "" if heat.bed_c is None else f": {heat.bed_c:.0f} °C"
        self._asking.look_up(f"The bed {way}{is_c}.")
