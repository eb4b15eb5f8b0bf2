"""A run carried out: ready, trial after trial, holds in between, and a proper end."""

import asyncio
from collections.abc import Callable
from datetime import datetime

from hostctl.errors import HostctlError
from hostctl.gauges.gauge import BytePortOpener
from hostctl.machine.machine import Machine
from hostctl.machine.permit import MotionForbidden
from hostctl.news import Moving, RunFinished
from hostctl.run.asking import Asking
from hostctl.run.desk import Desk
from hostctl.run.holds.breaks import Break, EndAsked, HoldAsked, RedoAsked, SkipAsked, TrialBreak
from hostctl.run.holds.holding import Holding
from hostctl.run.holds.watch import Sleep, Watch
from hostctl.run.order import RunOrder
from hostctl.run.procedures.agreed import agreed
from hostctl.run.procedures.course import Course
from hostctl.run.procedures.motions import BringAndRead, StepAndRead
from hostctl.run.procedures.procedure import Finished, StandStill, Trial
from hostctl.run.ready import Readying
from hostctl.run.record.answered import undone
from hostctl.run.record.journal import Journal, Keeper
from hostctl.run.record.progress import Progress
from hostctl.run.steps.cycle import Cycle
from hostctl.run.steps.presence import Presence
from hostctl.run.steps.reader import Readers
from hostctl.run.steps.sources import Sources
from hostctl.run.steps.ties.tie_fault import TieFault
from hostctl.run.steps.ties.tie_steps import TieSteps
from hostctl.store.rows import RESUMED


async def carry_out(
    order: RunOrder,
    *,
    machine: Machine,
    store: Keeper,
    desk: Desk,
    now: Callable[[], datetime],
    sleep: Sleep = asyncio.sleep,
    open_port: BytePortOpener | None = None,
) -> RunFinished:
    """Carry out a study, or go on with a run that stopped; gives how it ended.

    The machine is connected if it is not yet, taken over, and left safe: heaters off, no motion.
    sleep: how a countdown and a hold wait. open_port: for a gauge with a port of its own.
    Raises HostctlError when it can't begin; a fault later on is a hold, not an error.
    """
    sources = Sources.of(order.study, machine, now, open_port)
    try:
        order.check()
        proposals, progress = agreed(order, sources.gauge)
        if machine.troubles.thermal_fault is None:  # else it is asked about before it connects
            await machine.make_ready()
            await machine.check_cool()
            await sources.check_there()
        number = (
            order.resume.summary.run if order.resume else await store.add_run(order.new_run(now))
        )
        readings = len(order.resume.readings) if order.resume else 0
        journal = Journal(store, desk, now, number, readings)
        course = Course(proposals, journal, progress)
        run = Run(order, machine, sources, journal, desk, sleep, course, progress)
        return await run.carry_out()
    finally:
        await machine.make_safe()
        await sources.close()


class Run:
    """One run under way."""

    def __init__(
        self,
        order: RunOrder,
        machine: Machine,
        sources: Sources,
        journal: Journal,
        desk: Desk,
        sleep: Sleep,
        course: Course,
        progress: Progress,
    ) -> None:
        study = order.study
        self._order = order
        self._study = study
        self._machine = machine
        self._journal = journal
        self._desk = desk
        self._course, self._progress = course, progress
        self._watch = Watch(desk, machine, sleep)
        self._asking = Asking(
            run=journal.run,
            desk=desk,
            keep=journal.keep_answer,
            machine=machine,
            watch=self._watch,
            now=journal.now,
            study=study,
        )
        self._holding = Holding(
            desk=desk,
            machine=machine,
            asking=self._asking,
            journal=journal,
            watch=self._watch,
            sleep=sleep,
            study=study,
            at_stake=course.readings_at_stake,
            homes_anew=course.homes_after_hold,
        )
        presence = Presence(
            study=study,
            machine=machine,
            asking=self._asking,
            journal=journal,
            progress=progress,
        )
        readers = Readers.of(study, machine, sources, self._asking, journal, progress)
        machine.envelope.things_stand_mm = 0.0
        self._ties = (
            TieSteps.of(order, machine, sources, self._asking, journal, progress)
            if study.tie
            else None
        )
        self._cycle = Cycle(
            study=study,
            machine=machine,
            reader=readers.first,
            second=readers.second,
            asking=self._asking,
            ties=self._ties,
            presence=presence,
            journal=journal,
            progress=progress,
            points=order.machine.points,
        )
        self._readying = Readying(
            order=order,
            machine=machine,
            asking=self._asking,
            holding=self._holding,
            watch=self._watch,
            journal=journal,
            desk=desk,
            cycle=self._cycle,
            ties=self._ties,
            presence=presence,
            course=course,
            progress=progress,
        )
        self._ended: RunFinished | None = None

    async def carry_out(self) -> RunFinished:
        """From the first question to the end of the run."""
        reason = "the program was stopped"
        try:
            with self._watch.listening(), self._journal.noting(self._machine.troubles):
                await self._start()
                return await self._until_the_end()
        except HostctlError as cause:
            reason = cause.what
            raise
        finally:
            if self._ended is None:
                await self._finish(complete=False, reason=reason)

    async def _start(self) -> None:
        self._desk.tell(self._order.started(self._journal.run, self._progress))
        kind = RESUMED if self._order.resume else "started"
        await self._journal.note_between(kind, "")
        await self._do_what_was_undone()
        if found := self._machine.heaters.found_on:
            self._desk.tell(Moving(what=f"Found {found}; off now."))
            await self._journal.note("heaters off", f"Found {found}.")

    async def _do_what_was_undone(self) -> None:
        """A word that was kept just before the program stopped counts all the same."""
        due = undone(self._order.resume)
        if due is not None:
            await self._journal.mark(due.place, due.mark, due.reason)
            (self._progress.skip if due.mark == "skipped" else self._progress.void)(due.place)

    async def _until_the_end(self) -> RunFinished:
        try:
            while (finished := await self._step()) is None:
                pass
        except EndAsked as end:
            if not end.hands_may_be_in:
                await self._park()
            return await self._finish(complete=False, reason=end.reason)
        await self._park()
        return await self._finish(complete=True, reason=finished.reason)

    async def _step(self) -> Finished | None:
        """One step, or what comes in its way; gives that nothing is left. Raises EndAsked."""
        try:
            await self._readying.get_ready()
            upcoming = await self._course.upcoming()
            if isinstance(upcoming, Finished):
                if self._ties:
                    await self._ties.clear_away()
                return upcoming
            if isinstance(upcoming, StandStill):
                await self._stand_still(upcoming)
            else:
                await self._carry_out_step(upcoming)
        except (HoldAsked, TrialBreak, HostctlError) as came:
            await self._deal_with(came)
        return None

    async def _carry_out_step(self, trial: Trial) -> None:
        place = self._progress.place(self._journal.run, trial)
        deeds = self._course.deeds(place)
        await self._cycle.carry_out(place, deeds)
        if not any(isinstance(deed, BringAndRead | StepAndRead) for deed in deeds):
            await self._journal.keep_carried_out(place)
            self._progress.carry_out(place)

    async def _deal_with(self, came: HoldAsked | TrialBreak | HostctlError) -> None:
        """A word about the trial is marked; anything else is a hold. Raises EndAsked."""
        try:
            match came:
                case RedoAsked(place=place, answer=answer):
                    await self._journal.mark(place, "void", f"redo was said on {answer.channel}")
                    self._progress.void(place)
                case SkipAsked(place=place, answer=answer):
                    await self._journal.mark(place, "skipped", f"said on {answer.channel}")
                    self._progress.skip(place)
                case TieFault():
                    await self._void_tie(came)
                    raise came
                case MotionForbidden():
                    self._watch.check()  # somebody stopped it: that, not this, is the reason
                    raise came
                case _:
                    raise came
        except HoldAsked as hold:
            await self._hold(f"Hold was said on {hold.answer.channel}.")
        except HostctlError as fault:
            self._watch.forget_fault()
            await self._hold(str(fault))

    async def _stand_still(self, upcoming: StandStill) -> None:
        """As the procedure has it: a hold with the head up, as no fault is."""
        await self._asking.go_on("The head lifts.")
        await self._machine.lift()
        await self._hold(upcoming.reason)

    async def _void_tie(self, fault: TieFault) -> None:
        """What was observed of it at that point so far; where each one is a trial, this one."""
        place = fault.place
        await self._journal.mark(place, "void", fault.what, whole_block=not place.counts)
        if place.counts:
            self._progress.void(place)
        else:
            self._progress.begin_again(place.block)

    async def _hold(self, reason: str) -> None:
        """Until it is lifted; meanwhile somebody may have moved something. Raises EndAsked."""
        await self._holding.hold(reason)
        self._progress.stood_still()
        if self._ties:
            self._ties.forget()

    async def _park(self) -> None:
        """Where the head waits, if that is safe; where it is, if not."""
        if not self._machine.homed:
            return
        try:
            if self._ties and self._ties.things_in:
                await self._asking.before_motion("The head lifts.")
                await self._machine.lift()  # not sideways: leads and plate are in the machine
                return
            await self._asking.before_motion("The head lifts and parks.")
            await self._cycle.put_probe_in()
            await self._machine.park()
        except (Break, HostctlError) as why:
            await self._journal.note("not parked", str(why))

    async def _finish(self, *, complete: bool, reason: str) -> RunFinished:
        hot = self._machine.troubles.thermal_fault
        await self._journal.note_thermal_fault(hot, self._order.machine.machine)
        problem = await self._machine.safe_at_last()
        if problem is not None:
            await self._journal.note("not safe", problem)
        left_in = self._ties.left_in() if self._ties and not complete else ""
        told = "" if complete and not self._progress.skipped else f"; {self._progress.told()}"
        said = f"{reason}{told}{left_in}"
        if hot:
            said += f"; {hot.what}; switch the machine off at the mains"
        elif self._machine.heaters.may_be_on:
            said += "; the bed may still be heating, so switch the machine off"
        self._ended = RunFinished(run=self._journal.run, complete=complete, reason=said)
        await self._journal.note("ended", said, complete=complete)
        self._desk.tell(self._ended)
        return self._ended
