"""A run carried out: ready, trial after trial, holds in between, and a proper end."""

import asyncio
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from hostctl.config.study import Reference, Warmth
from hostctl.errors import HostctlError
from hostctl.gauges.gauge import BytePortOpener, Gauge, GaugeParts, gauge_for
from hostctl.machine.machine import Machine
from hostctl.machine.permit import MotionForbidden
from hostctl.records import Heat, Moving, RunFinished, RunStarted
from hostctl.run import wording
from hostctl.run.asking import Asking
from hostctl.run.cycle import Cycle
from hostctl.run.desk import Desk
from hostctl.run.holds.breaks import Break, EndAsked, HoldAsked, RedoAsked, SkipAsked, TrialBreak
from hostctl.run.holds.holding import Holding
from hostctl.run.holds.watch import Sleep, Watch
from hostctl.run.order import RunOrder
from hostctl.run.record.answered import told_on_resuming, undone
from hostctl.run.record.journal import Journal, Keeper
from hostctl.run.record.progress import Progress
from hostctl.run.schedule import Trial, schedule_of
from hostctl.run.taking import Taking

REPLUG_S = 30.0
"""How long connecting again waits for a port that went away."""


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
    gauge = gauge_for(GaugeParts(study=order.study, machine=machine, now=now, open_port=open_port))
    try:
        order.check_heat()
        if machine.troubles.thermal_fault is None:  # else it is asked about before it connects
            await machine.make_ready()
            await machine.check_cool()
        run = order.resume.summary.run if order.resume else await store.add_run(order.new_run(now))
        journal = Journal(store, desk, now, run)
        return await Run(order, machine, gauge, journal, desk, sleep).carry_out()
    finally:
        await machine.make_safe()
        await gauge.close()


class Run:
    """One run under way."""

    def __init__(
        self,
        order: RunOrder,
        machine: Machine,
        gauge: Gauge,
        journal: Journal,
        desk: Desk,
        sleep: Sleep,
    ) -> None:
        study, seed = order.study, order.resume.summary.new.seed if order.resume else order.seed
        schedule = schedule_of(study, seed, gauge_has_own_zero=gauge.own_zero)
        self._order = order
        self._study = study
        self._machine = machine
        self._gauge = gauge
        self._journal = journal
        self._desk = desk
        self._progress = (
            Progress.from_record(schedule, order.resume) if order.resume else Progress(schedule)
        )
        self._watch = Watch(desk, machine, sleep)
        self._asking = Asking(
            run=journal.run,
            desk=desk,
            keep=journal.keep_answer,
            machine=machine,
            watch=self._watch,
            now=journal.now,
            countdown_s=study.cycle.countdown_s,
            in_graduations=study.gauge.typed_in_graduations,
        )
        self._holding = Holding(
            desk=desk,
            machine=machine,
            asking=self._asking,
            journal=journal,
            watch=self._watch,
            sleep=sleep,
            heated=study.warmth is not None,
            at_stake=self._readings_at_stake,
        )
        taking = Taking(
            study=study,
            machine=machine,
            gauge=gauge,
            asking=self._asking,
            journal=journal,
            progress=self._progress,
        )
        self._cycle = Cycle(
            study=study,
            seed=seed,
            machine=machine,
            gauge=gauge,
            asking=self._asking,
            taking=taking,
        )
        self._confirmed = False
        self._dry_cycles_made = False
        self._bed_is_warm = False
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
        self._desk.tell(
            RunStarted(
                run=self._journal.run,
                study=self._study.study,
                machine=self._order.machine.machine,
                trials_total=self._progress.trials_total,
                resumed=self._order.resume is not None,
            )
        )
        await self._journal.note("resumed" if self._order.resume else "started", "")
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
            while await self._step():
                pass
        except EndAsked as end:
            if not end.hands_may_be_in:
                await self._park()
            return await self._finish(complete=False, reason=end.reason)
        await self._park()
        return await self._finish(complete=True, reason="all trials are done")

    async def _step(self) -> bool:
        """One trial, or what comes in its way; False when all are done. Raises EndAsked."""
        try:
            await self._get_ready()
            trial = self._progress.next()
            if trial is not None:
                await self._cycle.carry_out(self._progress.place(self._journal.run, trial))
        except (HoldAsked, TrialBreak, HostctlError) as came:
            await self._deal_with(came)
            return True
        return trial is not None

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
                case MotionForbidden():
                    self._watch.check()  # somebody stopped it: that, not this, is the reason
                    raise came
                case _:
                    raise came
        except HoldAsked as hold:
            await self._holding.hold(f"Hold was said on {hold.answer.channel}.")
        except HostctlError as fault:
            self._watch.forget_fault()
            await self._holding.hold(str(fault))

    # ------------------------------------------------------------ getting ready

    async def _get_ready(self) -> None:
        """Whatever is still to be done before a trial; usually nothing."""
        if not self._confirmed:
            words = wording.start(self._study, self._order.machine)
            told = told_on_resuming(self._order.resume)
            words = replace(words, detail=f"{told} {words.detail}".strip())
            await self._asking.ask(words)
            self._confirmed = True
        if not self._machine.homed:
            await self._home()
        if self._study.warmth and (self._holding.cooled or not self._bed_is_warm):
            await self._warm_bed(self._study.warmth)
        upcoming = self._progress.next()
        if upcoming is not None and not self._dry_cycles_made:
            await self._cycle.dry_cycles(upcoming.point, self._order.machine.dry_cycles)
            self._dry_cycles_made = True

    async def _home(self) -> None:
        if not self._machine.ours:
            self._bed_is_warm = False  # a board that is taken over has its heaters off
            self._desk.tell(Moving(what="Connecting to the machine."))
            await self._machine.make_ready(REPLUG_S)
        await self._machine.check_cool()
        await self._begin_blocks_again()
        upcoming = self._progress.next()
        if upcoming is not None:
            place = self._progress.place(self._journal.run, upcoming)
            await self._cycle.clear_bed_for_homing(place)
        await self._asking.before_motion("The head rises, then all axes home.")
        await self._machine.home()
        await self._journal.note("homed", "")

    def _blocks_at_stake(self) -> list[Trial]:
        """One trial of each block that homing makes begin again."""
        if self._gauge.own_zero and self._study.reference is Reference.DATUM:
            return []
        return self._progress.begun_blocks()

    def _readings_at_stake(self) -> int:
        return self._progress.kept_in([trial.block for trial in self._blocks_at_stake()])

    async def _begin_blocks_again(self) -> None:
        """Homing shifts the axes a little, so a zero set by hand is lost with it."""
        self._cycle.forget_zero()
        for trial in self._blocks_at_stake():
            place = self._progress.place(self._journal.run, trial)
            await self._journal.mark(place, "void", "zero lost", whole_block=True)
            self._progress.begin_again(trial.block)

    async def _warm_bed(self, warmth: Warmth) -> None:
        def look_up(heat: Heat) -> None:
            self._watch.check()
            if heat.bed_c is not None:
                self._desk.tell(Moving(what=f"The bed warms up: {heat.bed_c:.0f} °C."))

        await self._machine.heaters.warm_bed(warmth.bed_c, warmth.soak_s, look_up)
        self._bed_is_warm, self._holding.cooled = True, False

    # ------------------------------------------------------------ the end

    async def _park(self) -> None:
        """Where the head waits, if that is safe; where it is, if not."""
        if not self._machine.homed:
            return
        try:
            await self._asking.before_motion("The head lifts and parks.")
            await self._machine.park()
        except (Break, HostctlError) as why:
            await self._journal.note("not parked", str(why))

    async def _finish(self, *, complete: bool, reason: str) -> RunFinished:
        hot = self._machine.troubles.thermal_fault
        await self._journal.note_thermal_fault(hot, self._order.machine.machine)
        problem = await self._machine.safe_at_last()
        if problem is not None:
            await self._journal.note("not safe", problem)
        done, total = self._progress.trials_done, self._progress.trials_total
        said = reason if complete else f"{reason}; {done} of {total} trials are done"
        if hot:
            said += f"; {hot.what}; switch the machine off at the mains"
        elif self._machine.heaters.may_be_on:
            said += "; the bed may still be heating, so switch the machine off"
        self._ended = RunFinished(run=self._journal.run, complete=complete, reason=said)
        await self._journal.note("ended", said, complete=complete)
        self._desk.tell(self._ended)
        return self._ended
