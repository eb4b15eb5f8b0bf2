"""A simulated board behind a real pseudo-terminal, with the link and the machine on this side."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

from bench_files import machine_file
from hostctl_simulators.pace import Pacer
from hostctl_simulators.simulated_printer import Description, SimulatedPrinter
from hostctl_simulators.ways_in.pty_cable import PtyCable

from hostctl.link.link import Link
from hostctl.link.patience import Patience
from hostctl.link.port import PortSettings
from hostctl.machine.machine import Machine

BRISK = Patience(quiet_s=0.02, settle_s=0.2, listen_s=0.5, hush_s=0.1, boot_s=60.0, greet_s=30.0)
"""Listening is really waited out where a board says nothing, as when it is not reset again."""


@dataclass
class TtyBoard:
    """Both ends."""

    printer: SimulatedPrinter
    link: Link
    machine: Machine

    async def homed(self) -> Machine:
        """The machine, connected, allowed to move and homed."""
        await self.machine.connect()
        self.machine.permit.give()
        await self.machine.home()
        return self.machine


@asynccontextmanager
async def board_on_a_tty(
    folder: Path, described: str, *, keep_on_open: bool = False, **changes: object
) -> AsyncIterator[TtyBoard]:
    """described: the simulated printer's url. keep_on_open: opening the port resets nothing."""
    folder.mkdir(exist_ok=True)  # noqa: ASYNC240 - of no consequence in a test
    description = Description.parse(described)
    printer = SimulatedPrinter(description)
    pacer = Pacer(printer.agenda, description.speed)
    cable = PtyCable(printer, pacer, folder / "port", reset_on_open=not keep_on_open)
    link = Link(str(folder / "port"), PortSettings(), patience=BRISK)
    try:
        async with link.running():
            yield TtyBoard(printer, link, Machine(machine_file(**changes), link))
    finally:
        cable.close()
        pacer.stop()
