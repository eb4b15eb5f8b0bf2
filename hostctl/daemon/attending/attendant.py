"""An attendant: looks after one machine's line, and carries out the runs asked for at its station.

Reaching a machine moves nothing: the port is opened, the controller greeted, its position unknown.
A line that is lost is tried again under the same stable name. While it rests the machine is asked
for its temperatures now and then, since a board that lost its power says nothing of itself.
"""

import asyncio
from collections.abc import Callable
from datetime import datetime

from hostctl.channels.beat import seconds_to_beat
from hostctl.config.directory import Filed
from hostctl.config.machine import Machine as MachineFile
from hostctl.daemon.assembly.parts import link_for, open_gauge_port, order_for
from hostctl.daemon.assembly.requested import Requested
from hostctl.daemon.attending.shown import Shown
from hostctl.daemon.attending.thermal import have_it_looked_at, kept_thermal_fault
from hostctl.daemon.log.event_log import EventLog, Level
from hostctl.errors import HostctlError, MachineError, PortError
from hostctl.link.link import Link
from hostctl.machine.controller.own_job import OwnJob
from hostctl.machine.machine import Machine
from hostctl.news import RunFinished
from hostctl.run.arming.room_code import ShownCode
from hostctl.run.record.report import RunReport
from hostctl.run.runner import carry_out
from hostctl.run.station import BEING_CONNECTED, StartRequest, Station
from hostctl.store.store import Store

LOOK_S = 60.0  # a resting board that lost its power is found out by then
LOOK_CLOSELY_S = 5.0  # while something is warm, or a job runs that is not ours
NO_PORT_S = 3.0
NO_ANSWER_S = 20.0  # each try may reset the board, and takes its boot
AFTER_HALT_S = 3.0  # before the port is closed and opened again: the halt must be out by then


class Attendant:
    """Of one machine. `serve` it where what fails is begun again."""

    def __init__(
        self,
        station: Station,
        filed: Filed[MachineFile],
        *,
        requested: Requested,
        store: Store,
        log: EventLog,
        now: Callable[[], datetime],
        show_code: Callable[[str, ShownCode], None],
    ) -> None:
        """show_code: shows a room code at the computer."""
        self.station = station
        self._filed = filed
        self._requested = requested
        self._store = store
        self._log = log
        self._now = now
        self._show_here = show_code
        self._roused = asyncio.Event()
        self._to_show: ShownCode | None = None
        self._shown = Shown(station, log)
        self._said = ""
        self._afresh = False
        self._halted = False
        self._runs = False
        station.on_halt.add(self._hear_halt)
        station.on_show_code.add(self._show)

    def use(self, filed: Filed[MachineFile]) -> None:
        """Take another machine file: now if the machine rests, else once its run is over."""
        if filed.source != self._filed.source:
            self._filed = filed
            self._roused.set()

    async def serve(self) -> None:
        """Until cancelled. A run under way then ends safely and can be resumed."""
        while True:
            await self._attend(self._filed)

    def failed(self, why: str) -> None:
        """Something unforeseen ended `serve`; it is begun again."""
        self._lost(why)

    # ------------------------------------------------------------ one file, one line

    async def _attend(self, filed: Filed[MachineFile]) -> None:
        """Until another file is to be used, or the line is to be opened afresh."""
        self._afresh = False
        self.station.reachable, self.station.why_unreachable = False, BEING_CONNECTED
        link = link_for(filed.checked)
        link.thermal_fault = await kept_thermal_fault(self._store, self.station.name)
        machine = Machine(filed.checked, link)
        machine.on_fault.add(self._hear_fault)
        self._shown.follow(machine)
        try:
            async with link.running():
                while filed is self._filed and not self._afresh:
                    self._roused.clear()
                    if machine.troubles.thermal_fault is not None:
                        self._lost(str(machine.troubles.thermal_fault))
                        await have_it_looked_at(machine, self.station, self._store)
                    elif machine.connected and self.station.reachable:
                        await self._rest(machine, link)
                    else:
                        await self._reach(machine)
        finally:
            self.station.machine = None

    async def _reach(self, machine: Machine) -> None:
        """One try; then a wait, unless it succeeded."""
        try:
            greeting = await machine.connect()
        except OwnJob as job:
            self._reached(machine, firmware="")
            self._shown.own_job(job)
            return
        except HostctlError as why:
            self._lost(str(why))
            await self._pause(NO_PORT_S if isinstance(why, PortError) else NO_ANSWER_S)
            return
        self._reached(machine, firmware=greeting.firmware[:80])
        self._shown.taken_over(machine)

    def _reached(self, machine: Machine, *, firmware: str) -> None:
        self._said = ""
        self.station.reachable, self.station.why_unreachable = True, ""
        self.station.machine = machine
        self.station.connected_anew()
        self._log.say("reached", machine=self.station.name, firmware=firmware)
        self.station.changed()

    def _lost(self, why: str) -> None:
        self.station.reachable, self.station.why_unreachable = False, why
        self._shown.line_lost()
        if why != self._said:
            self._log.say("no-line", Level.WARNING, machine=self.station.name, why=why)
            self.station.changed()
        self._said = why

    async def _rest(self, machine: Machine, link: Link) -> None:
        """Wait for a start, a while; then see that the machine is still there."""
        if self._to_show is not None:
            await self._show_on(machine, self._to_show)
            return
        request = await self._next_request()
        if request is not None:
            await self._carry_out(request, machine, link)
        elif machine.connected:
            await self._look_at(machine)
        if not machine.connected:
            self._lost(self._said or "the line to the machine went down")
            await asyncio.sleep(AFTER_HALT_S if self._halted else 0)
            self._halted = False

    async def _next_request(self) -> StartRequest | None:
        """The next start; None after a while, or when roused."""
        async with asyncio.TaskGroup() as tasks:
            asked = tasks.create_task(self.station.next_request())
            roused = tasks.create_task(self._roused.wait())
            warm_or_taken = self.station.heat or self.station.own_job
            look_s = seconds_to_beat(LOOK_CLOSELY_S if warm_or_taken else LOOK_S)
            await asyncio.wait([asked, roused], timeout=look_s, return_when="FIRST_COMPLETED")
            asked.cancel()
            roused.cancel()
        return None if asked.cancelled() else asked.result()

    async def _pause(self, seconds: float) -> None:
        """Unless roused."""
        try:
            async with asyncio.timeout(seconds):
                await self._roused.wait()
        except TimeoutError:
            return

    async def _look_at(self, machine: Machine) -> None:
        """See that it is still there, how warm it is, and whether it runs a job of its own."""
        try:
            await machine.heaters.look_at_rest()
            if self.station.own_job:
                await machine.take_over()
                self._shown.taken_over(machine)
            else:
                await machine.check_ours()
        except OwnJob as job:
            self._shown.own_job(job)
        except MachineError as odd:
            self._log.say("odd", Level.WARNING, machine=self.station.name, why=str(odd))
        except HostctlError as lost:
            self._lost(str(lost))

    def _hear_fault(self, fault: HostctlError) -> None:
        if self._runs:
            return  # the run holds, and says why
        self._lost(str(fault))
        self._roused.set()

    # ------------------------------------------------------------ halting, and the room code

    def _hear_halt(self, by: str) -> None:
        self._halted = True
        self._log.say("halted", Level.WARNING, machine=self.station.name, by=by)

    def _show(self, shown: ShownCode) -> None:
        self._to_show = shown
        self._show_here(self.station.name, shown)
        self._roused.set()

    async def _show_on(self, machine: Machine, shown: ShownCode) -> None:
        self._to_show = None
        if self.station.room_code.shown is not shown:
            return
        self._log.say("room-code-shown", machine=self.station.name)  # never the code itself
        try:
            await machine.message(f"Room code {shown.code}")
            await machine.beep()
        except HostctlError as mute:
            self._log.say("odd", Level.WARNING, machine=self.station.name, why=str(mute))

    # ------------------------------------------------------------ a run

    async def _carry_out(self, request: StartRequest, machine: Machine, link: Link) -> None:
        """Whatever comes of it, the station is left without a run."""
        named = request.study or f"run {request.resume}"
        self._runs = True
        try:
            finished = await self._finished(request, machine, link)
        except OwnJob as job:
            self._shown.own_job(job)
        except HostctlError as why:
            self.station.notice = f"{named} could not be carried out: {why}"
            self._log.say("not-run", Level.WARNING, machine=self.station.name, what=named, why=why)
        else:
            self.station.notice = _what_next(finished)
            self._offer_report(finished)
        finally:
            self._runs = False
            self.station.machine = machine
            if machine.connected:  # and homed anew since a STOP, if there was one
                self.station.halted_by = ""
            self._told_over()
            self.station.changed()

    async def _finished(self, request: StartRequest, machine: Machine, link: Link) -> RunFinished:
        plan, resume = await self._requested.plan_for(request, self.station.name)
        if resume is not None:
            machine.let_go()
            machine = Machine(plan.machine, link)  # as it was when the run began
            self._afresh = True  # the line is this machine's now
            self.station.machine = machine
            self._shown.follow(machine)
        self.station.notice = ""
        return await carry_out(
            order_for(plan, seed=request.seed, resume=resume),
            machine=machine,
            store=self._store,
            desk=self.station.desk,
            now=self._now,
            open_port=open_gauge_port,
        )

    def _offer_report(self, finished: RunFinished) -> None:
        """Of a complete run it is made now; of one that ended early, once somebody asks."""
        run, course = finished.run, self.station.desk.course
        if course.started is None or not course.trials_done:
            return
        study = course.started.study
        self.station.offer_report(RunReport(run=run, study=study, complete=finished.complete))
        if finished.complete:
            self.station.ask_report(run)

    def _told_over(self) -> None:
        """A run that broke off before it could say so is over all the same."""
        started = self.station.desk.started
        if started is not None:
            why = "it broke off; see the log"
            finished = RunFinished(run=started.run, complete=False, reason=why)
            self.station.desk.tell(finished)
            self._offer_report(finished)


def _what_next(finished: RunFinished) -> str:
    if finished.complete:
        return f"Run {finished.run} is complete: hostctl show {finished.run}"
    return (
        f"Run {finished.run} ended early ({finished.reason}): hostctl start --resume {finished.run}"
    )
