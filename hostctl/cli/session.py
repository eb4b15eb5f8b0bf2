"""The parts of one run put together: store, line, machine, desk and channels, in one task group."""

import asyncio
import secrets
import signal
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from hostctl.channels.descriptors import STOPPED_HINT
from hostctl.cli.plan import Plan
from hostctl.config.machine import Noise
from hostctl.errors import HostctlError, RunStopped
from hostctl.link.link import Link
from hostctl.link.port import Port, PortSettings, open_port
from hostctl.machine.machine import Machine
from hostctl.protocol.noise import NoiseLimit
from hostctl.records import RunFinished
from hostctl.run.channel import CHANNELS
from hostctl.run.desk import Desk
from hostctl.run.runner import RunOrder, carry_out
from hostctl.store.rows import RunRecord
from hostctl.store.store import Store

CHANNEL_ENDS_WITHIN_S = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One run to be carried out. `channels`: the settings of each, by its plug-in name."""

    plan: Plan
    database: Path
    channels: Mapping[str, dict[str, object]]
    seed: int | None = None
    resume: RunRecord | None = field(default=None)


def carry_out_session(session: Session) -> RunFinished:
    """Carry the run out, whatever that takes. Raises HostctlError, or KeyboardInterrupt."""
    return asyncio.run(_run(session))


async def _run(session: Session) -> RunFinished:
    file = session.plan.machine
    link = Link(
        file.port,
        PortSettings(baud=file.baud, reset_on_open=file.reset_on_open),
        noise=_noise_limit(file.noise),
    )
    async with Store.opened(session.database) as store, link.running():
        machine = Machine(file, link)
        with _told_to_stop():
            return await _with_channels(session, machine, store)


async def _with_channels(session: Session, machine: Machine, store: Store) -> RunFinished:
    desk = Desk()
    channels = [
        CHANNELS.find(name)({"stop_now": machine.halt, **settings})
        for name, settings in session.channels.items()
    ]
    try:
        async with asyncio.TaskGroup() as tasks:
            serving = [
                tasks.create_task(channel.serve(desk), name=channel.name) for channel in channels
            ]
            finished = await carry_out(
                _order(session),
                machine=machine,
                store=store,
                desk=desk,
                now=_now,
                open_port=_open_gauge_port,
            )
            await _let_end(serving)
        return finished
    except* HostctlError as several:
        raise _first(several) from None


def _order(session: Session) -> RunOrder:
    plan, seed = session.plan, session.seed
    if seed is None:
        seed = plan.study.seed if plan.study.seed is not None else secrets.randbelow(2**32)
    return RunOrder(
        study=plan.study,
        machine=plan.machine,
        study_text=plan.study_text,
        machine_text=plan.machine_text,
        seed=seed,
        resume=session.resume,
    )


def _noise_limit(noise: Noise) -> NoiseLimit:
    return NoiseLimit(share=noise.most_resends / noise.among_lines, window=noise.among_lines)


async def _open_gauge_port(url: str, baud: int) -> Port:
    return await open_port(url, PortSettings(baud=baud))


def _now() -> datetime:
    return datetime.now(UTC)


async def _let_end(serving: list[asyncio.Task[None]]) -> None:
    """Give the channels time to tell the end, then take leave of those that linger."""
    _, lingering = await asyncio.wait(serving, timeout=CHANNEL_ENDS_WITHIN_S)
    for task in lingering:
        task.cancel()


def _first(several: BaseExceptionGroup[HostctlError]) -> HostctlError:
    inner = several.exceptions[0]
    return _first(inner) if isinstance(inner, BaseExceptionGroup) else inner


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
