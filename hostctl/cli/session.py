"""The parts of one run put together: store, line, machine, desk and channels, in one task group."""

import asyncio
import signal
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from hostctl.channels.descriptors import STOPPED_HINT
from hostctl.cli.next_steps.saying import resuming
from hostctl.daemon.assembly.parts import link_for, open_gauge_port, order_for
from hostctl.daemon.assembly.plan import Plan
from hostctl.daemon.attending.thermal import kept_thermal_fault
from hostctl.daemon.log.fault_log import keep_fault, logged_faults_kept
from hostctl.errors import HostctlError, PortError, RunStopped
from hostctl.link.patience import Patience
from hostctl.machine.machine import Machine
from hostctl.news import RunFinished
from hostctl.run.channel import CHANNELS, Channel
from hostctl.run.desk import Desk
from hostctl.run.holds.holding import BED_MAY_HEAT
from hostctl.run.runner import carry_out
from hostctl.store.file.recorder import recording
from hostctl.store.rows import RunRecord
from hostctl.store.store import Store, utc_now

CHANNEL_ENDS_WITHIN_S = 2.0
NOT_BEGUN = "No run was begun, so nothing was read. Begin it where somebody can answer."


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One run to be carried out. `channels`: the settings of each, by its plug-in name.

    patience: how long the line waits for a board; None: as long as it usually does.
    """

    plan: Plan
    database: Path
    channels: Mapping[str, dict[str, object]]
    seed: int | None = None
    resume: RunRecord | None = field(default=None)
    patience: Patience | None = None


def carry_out_session(session: Session) -> RunFinished:
    """Carry the run out, whatever that takes. Raises HostctlError, or KeyboardInterrupt."""
    desk = Desk()
    try:
        with logged_faults_kept(lambda line: sys.stderr.write(f"{line}\n")):
            return asyncio.run(_run(session, desk))
    except PortError as error:
        if error.where != session.plan.machine.port:  # a gauge's own
            raise
        where = f"{session.plan.port_at}: port {error.where}"
        raise PortError(where, error.what, error.next_step) from error
    except RunStopped as stopped:
        if stopped.next_step != STOPPED_HINT:
            raise
        raise RunStopped(stopped.where, stopped.what, _how_to_go_on(session, desk)) from stopped
    except KeyboardInterrupt:
        raise KeyboardInterrupt(f"Interrupted. {_how_to_go_on(session, desk)}") from None


def _how_to_go_on(session: Session, desk: Desk) -> str:
    """With the run's number, once it has one."""
    run = desk.last_run or (session.resume.summary.run if session.resume else None)
    if run is None:
        return NOT_BEGUN
    return f"What was read is kept. Go on with: {resuming(run, session.database)}"


async def _run(session: Session, desk: Desk) -> RunFinished:
    file = session.plan.machine
    link = link_for(file, session.patience)
    async with Store.opened(session.database) as store, link.running():
        link.thermal_fault = await kept_thermal_fault(store, file.machine)
        recorded = recording(session.database, file.machine)
        machine = Machine(file, link)
        with recorded, _told_to_stop(), _told_of_heat(machine):
            return await _with_channels(session, desk, machine, store)


async def _with_channels(
    session: Session, desk: Desk, machine: Machine, store: Store
) -> RunFinished:
    channels = [
        CHANNELS.find(name)({"stop_now": partial(machine.halt, name), **settings})
        for name, settings in session.channels.items()
    ]

    async def run() -> RunFinished:
        finished = await carry_out(
            order_for(session.plan, seed=session.seed, resume=session.resume),
            machine=machine,
            store=store,
            desk=desk,
            now=utc_now,
            open_port=open_gauge_port,
        )
        await _let_end(serving)
        return finished

    try:
        async with asyncio.TaskGroup() as tasks:
            serving = [
                tasks.create_task(_serve(channel, desk, len(channels) == 1), name=channel.name)
                for channel in channels
            ]
            # A task of its own: the group cancels it once, however many ways the end is told, as a
            # closed terminal does by hang-up and by the end of the keyboard; so it ends in order.
            running = tasks.create_task(run(), name="run")
        return running.result()
    except* HostctlError as several:
        raise _first(several) from None


async def _serve(channel: Channel, desk: Desk, alone: bool) -> None:
    """A channel that fails does not take the run with it, unless nobody is left to answer."""
    try:
        await channel.serve(desk)
    except* HostctlError as several:
        raise _first(several) from None
    except* Exception as faults:  # one of the five places where all is caught
        sys.stderr.write(f"channel {channel.name} failed. {keep_fault(faults)}\n")
        if alone:
            raise RunStopped(f"channel {channel.name}", "it failed", STOPPED_HINT) from faults


async def _let_end(serving: list[asyncio.Task[None]]) -> None:
    """Give the channels time to tell the end, then take leave of those that linger."""
    _, lingering = await asyncio.wait(serving, timeout=CHANNEL_ENDS_WITHIN_S)
    for task in lingering:
        task.cancel()


def _first(several: BaseExceptionGroup[HostctlError]) -> HostctlError:
    inner = several.exceptions[0]
    return _first(inner) if isinstance(inner, BaseExceptionGroup) else inner


@contextmanager
def _told_of_heat(machine: Machine) -> Iterator[None]:
    """Who stops the program sees no screen of ours any more that would say it."""
    try:
        yield
    except asyncio.CancelledError:
        if machine.heaters.may_be_on:
            sys.stderr.write(f"{BED_MAY_HEAT}\n")
        raise


@contextmanager
def _told_to_stop() -> Iterator[None]:
    """SIGTERM and SIGHUP end the run as an interrupt does: made safe first, and resumable."""
    loop, task = asyncio.get_running_loop(), asyncio.current_task()
    assert task is not None
    told: list[str] = []

    def stop(name: str) -> None:
        told.append(name)
        task.cancel()

    for number in (signal.SIGTERM, signal.SIGHUP):
        loop.add_signal_handler(number, stop, number.name)
    try:
        yield
    except asyncio.CancelledError:
        if not told:
            raise
        raise RunStopped("hostctl", f"it was told to stop ({told[0]})", STOPPED_HINT) from None
    finally:
        for number in (signal.SIGTERM, signal.SIGHUP):
            loop.remove_signal_handler(number)
        # A terminal that was closed may tell it once more: on the way out that kills nothing.
        signal.signal(signal.SIGHUP, signal.SIG_IGN)
