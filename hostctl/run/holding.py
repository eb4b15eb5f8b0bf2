"""A hold: the run stands still, safe, says why, and waits for an operator."""

import asyncio

from hostctl.errors import HostctlError
from hostctl.machine.machine import Machine
from hostctl.records import Answer, HoldBegan, HoldLifted, PromptKind
from hostctl.run.asking import Asking
from hostctl.run.breaks import EndAsked, HoldAsked
from hostctl.run.desk import Desk
from hostctl.run.journal import Journal
from hostctl.run.watch import Sleep, Watch
from hostctl.run.wording import go_on_after_hold

LASTS_S = 60.0
"""A hold longer than this lasts: heaters go off."""

BED_MAY_HEAT = "The bed may still be heating: if it must not, switch the machine off."
"""Where it can't be switched off from here."""


class Holding:
    """Holds one run, as often as need be."""

    def __init__(
        self,
        *,
        desk: Desk,
        machine: Machine,
        asking: Asking,
        journal: Journal,
        watch: Watch,
        sleep: Sleep,
    ) -> None:
        self._desk = desk
        self._machine = machine
        self._asking = asking
        self._journal = journal
        self._watch = watch
        self._sleep = sleep
        self.cooled = False
        """Whether heaters went off in a hold; whoever warms again puts it back."""

    async def hold(self, reason: str) -> None:
        """Stand still until an operator says done.

        Raises EndAsked when one says end. A fault meanwhile is told, and the hold goes on.
        """
        lifted = None
        while lifted is None:
            said = f"{reason} {BED_MAY_HEAT}" if self._bed_may_heat() else reason
            await self._begin(said)
            came = await self._wait(said)
            match came:
                case Answer():
                    lifted = came
                case EndAsked():
                    raise came
                case HoldAsked():
                    pass  # it is on hold
                case _:
                    self._watch.forget_fault()
                    reason = str(came)
        self._desk.tell(HoldLifted(channel=lifted.channel))
        await self._journal.note("hold lifted", f"on {lifted.channel}", channel=lifted.channel)

    def _bed_may_heat(self) -> bool:
        return self._machine.may_heat and not self._machine.connected

    async def _begin(self, reason: str) -> None:
        self._machine.permit.withdraw("the run is on hold")
        self._desk.tell(HoldBegan(reason=reason))
        await self._journal.note("hold", reason, wire=self._machine.wire_text())

    async def _wait(self, reason: str) -> Answer | HoldAsked | EndAsked | HostctlError:
        """What ended the waiting. Given back, not raised: a task group would wrap it."""
        words = go_on_after_hold(reason, must_home=not self._machine.homed)
        async with asyncio.TaskGroup() as group:
            cooling = group.create_task(self._cool_when_it_lasts(), name="hold: heaters off")
            try:
                answer, _ = await self._asking.ask(PromptKind.CONFIRM, words)
            except (HoldAsked, EndAsked, HostctlError) as came:
                return came
            finally:
                cooling.cancel()
        return answer

    async def _cool_when_it_lasts(self) -> None:
        await self._sleep(LASTS_S)
        self.cooled = True
        problem = await self._machine.heaters_off_if_possible()
        await self._journal.note("heaters off", problem or f"the hold lasts over {LASTS_S:g} s")
