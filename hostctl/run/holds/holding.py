"""A hold: the run stands still, safe, says why, and waits for an operator."""

import asyncio
from collections.abc import Callable
from dataclasses import replace

from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.errors import HostctlError, ThermalFault
from hostctl.machine.machine import Machine
from hostctl.news import Answer, HoldBegan, HoldLifted
from hostctl.run.asking import Asking
from hostctl.run.desk import Desk
from hostctl.run.holds.breaks import EndAsked, HoldAsked, NotHeatedAgain
from hostctl.run.holds.hold_wording import (
    go_on_after_hold,
    look_at_thermal_fault,
    stopped,
    thermal_fault_looked_at,
)
from hostctl.run.holds.watch import Sleep, Watch
from hostctl.run.record.journal import Journal
from hostctl.run.wording import Words
from hostctl.store.rows import HOLD_LIFTED, LOOKED_AT

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
        homes_anew: Callable[[], bool],
        study: Study,
    ) -> None:
        """at_stake: how many readings homing would cost. homes_anew: whether the study itself has
        all axes home once it goes on."""
        self._desk = desk
        self._machine = machine
        self._asking = asking
        self._journal = journal
        self._watch = watch
        self._sleep = sleep
        self._at_stake = at_stake
        self._homes_anew = homes_anew
        words = words_of(study.kind)
        self._levels, self._zeros = words.turns_screws, words.takes_zeros
        self._heated = study.heats
        self.cooled = False
        """Whether heaters went off in a hold; whoever warms again puts it back."""

    async def hold(self, reason: str) -> None:
        """Stand still until an operator says done.

        A thermal fault is asked about first, in a prompt of its own. Raises EndAsked when one says
        end, or when the study heats and had a thermal fault. A fault meanwhile is told, and the
        hold goes on.
        """
        lifted = None
        while lifted is None:
            hot = self._machine.troubles.thermal_fault
            held = self._held(reason, hot)
            await self._begin(held, hot)
            came = await self._wait(held, hot)
            match came:
                case Answer() if hot is not None:
                    await self._looked_at(came)
                    reason = thermal_fault_looked_at(hot.what)
                case Answer() if self._machine.troubles.thermal_fault is None:
                    lifted = came
                case Answer():
                    pass  # it broke out as they answered
                case EndAsked():
                    raise came
                case HoldAsked():
                    pass  # it is on hold
                case _:
                    self._watch.forget_fault()
                    reason = str(came)
        self._watch.hold_lifted()
        self._desk.tell(HoldLifted(channel=lifted.channel))
        said = f"on {lifted.channel}"
        await self._journal.note_between(HOLD_LIFTED, said, channel=lifted.channel)

    async def _looked_at(self, said: Answer) -> None:
        self._machine.troubles.thermal_fault_was_looked_at()
        machine, channel = self._machine.config.machine, said.channel
        await self._journal.note(LOOKED_AT, f"on {channel}", machine=machine, channel=channel)
        if self._heated:
            raise NotHeatedAgain(said)

    def _bed_may_heat(self) -> bool:
        return self._machine.heaters.may_be_on and not self._machine.connected

    def _held(self, reason: str, hot: ThermalFault | None) -> HoldBegan:
        """What is told of it: a thermal fault before a STOP, a STOP before any other reason."""
        by, went_out = self._machine.halted_by, self._machine.halt_went_out
        if hot is not None:
            by, reason = None, str(hot)
        elif by is not None:
            reason = stopped(by, went_out=went_out)
        if self._bed_may_heat() and hot is None:
            reason = f"{reason} {BED_MAY_HEAT}"
        return HoldBegan(
            reason=reason,
            stopped=by is not None,
            not_told=by is not None and not went_out,
            taken_anew=0 if self._machine.homed else self._at_stake(),
        )

    async def _begin(self, held: HoldBegan, hot: ThermalFault | None) -> None:
        self._machine.permit.withdraw("the run is on hold")
        self._desk.tell(held)
        await self._journal.note_thermal_fault(hot, self._machine.config.machine)
        kind = "stopped" if held.stopped else "hold"
        await self._journal.note(kind, held.reason, wire=self._machine.wire_text())

    def _go_on(self, held: HoldBegan) -> Words:
        must_home, homes_anew = not self._machine.homed, self._homes_anew()
        words = go_on_after_hold(held, must_home=must_home, zeros=self._zeros)
        if not homes_anew:
            return words
        then = ", and the bed is measured anew" if self._levels else ""
        return replace(words, moves_next=f"The head lifts, then all axes home{then}.")

    async def _wait(
        self, held: HoldBegan, hot: ThermalFault | None
    ) -> Answer | HoldAsked | EndAsked | HostctlError:
        """What ended the waiting. Given back, not raised: a task group would wrap it."""
        words = (
            look_at_thermal_fault(held.reason, heated=self._heated) if hot else self._go_on(held)
        )
        async with asyncio.TaskGroup() as group:
            cooling = group.create_task(self._cool_when_it_lasts(), name="hold: heaters off")
            try:
                answer, _ = await self._asking.ask(words)
            except (HoldAsked, EndAsked, HostctlError) as came:
                return came
            finally:
                cooling.cancel()
        return answer

    async def _cool_when_it_lasts(self) -> None:
        """Until they are off: a line that is down is tried again, but not after a STOP."""
        problem: str | None = ""
        while problem is not None:
            await self._sleep(LASTS_S)
            self.cooled, before = True, problem
            problem = await self._off()
            if problem != before:
                said = problem or f"the hold lasts over {LASTS_S:g} s"
                await self._journal.note("heaters off", said)

    async def _off(self) -> str | None:
        if self._machine.halted_by is not None:
            return await self._machine.make_safe()
        return await self._machine.safe_at_last()
