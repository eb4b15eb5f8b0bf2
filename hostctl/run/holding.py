"""A hold: the run stands still, safe, says why, and waits for an operator."""

import asyncio
from collections.abc import Callable

from hostctl.errors import HostctlError
from hostctl.machine.machine import Machine
from hostctl.records import Answer, HoldBegan, HoldLifted, PromptKind
from hostctl.run.asking import Asking
from hostctl.run.breaks import EndAsked, HoldAsked
from hostctl.run.desk import Desk
from hostctl.run.journal import Journal
from hostctl.run.watch import Sleep, Watch
from hostctl.run.wording import go_on_after_hold, stopped

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
        at_stake: Callable[[], int],
    ) -> None:
        """at_stake: how many readings homing would cost."""
        self._desk = desk
        self._machine = machine
        self._asking = asking
        self._journal = journal
        self._watch = watch
        self._sleep = sleep
        self._at_stake = at_stake
        self.cooled = False
        """Whether heaters went off in a hold; whoever warms again puts it back."""

    async def hold(self, reason: str) -> None:
        """Stand still until an operator says done.

        Raises EndAsked when one says end. A fault meanwhile is told, and the hold goes on.
        """
        lifted = None
        while lifted is None:
            held = self._held(reason)
            await self._begin(held)
            came = await self._wait(held)
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

    def _held(self, reason: str) -> HoldBegan:
        by = self._machine.halted_by
        said = reason if by is None else stopped(by)
        return HoldBegan(
            reason=f"{said} {BED_MAY_HEAT}" if self._bed_may_heat() else said,
            stopped=by is not None,
            taken_anew=0 if self._machine.homed else self._at_stake(),
        )

    async def _begin(self, held: HoldBegan) -> None:
        self._machine.permit.withdraw("the run is on hold")
        self._desk.tell(held)
        kind = "stopped" if held.stopped else "hold"
        await self._journal.note(kind, held.reason, wire=self._machine.wire_text())

    async def _wait(self, held: HoldBegan) -> Answer | HoldAsked | EndAsked | HostctlError:
        """What ended the waiting. Given back, not raised: a task group would wrap it."""
        words = go_on_after_hold(held, must_home=not self._machine.homed)
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
