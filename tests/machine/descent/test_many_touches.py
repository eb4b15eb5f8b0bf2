"""Many touches on simulated printers, with whatever goes wrong: how far the nozzle goes.

Link, machine, descent and contact are the real ones, board and bench the simulated ones, in jumping
time. The truth is known: how far below the plate's top the nozzle ever came. A thousand of them
take about a minute of a core: `HOSTCTL_TOUCHES=1000`.
"""

import asyncio
import os
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from random import Random

import pytest
from bench_files import machine_file
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.registry import find_printer, forget_printers
from jumping_loop import in_jumping_time
from plate_bench import tie

from hostctl.config.machine import Span, Travel
from hostctl.errors import HostctlError, MachineError
from hostctl.gauges.contact import InputContact
from hostctl.gauges.joining import Joining
from hostctl.link.link import Link
from hostctl.link.port import PortSettings
from hostctl.machine.descent.bracket import Bracket
from hostctl.machine.descent.descent import FINE_MM
from hostctl.machine.machine import Machine
from hostctl.protocol.noise import NoiseLimit

TOUCHES = int(os.environ.get("HOSTCTL_TOUCHES", "120"))
TOUCHES_A_PRINTER = 10
WHERE = "machine 'bench'"
CONTACT = "contact_lost=0.08&contact_stuck=0.08&contact_bounces=0.08&contact_late=0.08"
LINE = [
    "",
    "&corrupt=0.0005",
    "&lost_ok=0.005&doubled_ok=0.005",
    "&reset_at_command={command}",
    "&unplug_at_command={command}",
    "&stall_at_command={command}&stall_s=20",
]
KILLED_EVERY = 9
A_TOUCH_TAKES_S = (0.1, 1.35)  # of a printer that moves at once


@dataclass(kw_only=True)
class Touch:
    """What came of one: how it ended, and how far down the nozzle ever was."""

    ended: str
    floor_gap_mm: float = -1.0
    lowest_gap_mm: float = 9.0
    healthy: bool = True


class Workbench:
    """One printer and the hand beside it. Touch after touch; homed anew where it must be."""

    def __init__(self, seed: int) -> None:
        self.chance = Random(seed)
        line = LINE[seed % len(LINE)].format(command=self.chance.randrange(60, 700))
        self.url = f"sim://workshop-220?seed={seed}&{CONTACT}{line}"
        self.world = find_printer(self.url).world
        self.file = machine_file(port=self.url, travel=_travel(), probe=None)
        self.now = Touch(ended="")
        self._move = self.world.move_head
        self.world.move_head = self._moves  # type: ignore[method-assign]  # watched

    def _moves(self, to: Spot) -> None:
        self._move(to)
        self.now.lowest_gap_mm = min(self.now.lowest_gap_mm, self.world.gap_mm())

    async def touches(self, killed: bool) -> Touch:
        """One, in a process of its own; where it is killed, at any moment."""
        self.now = Touch(ended="killed")
        link = Link(self.url, PortSettings(), noise=NoiseLimit())
        async with link.running():
            machine = Machine(self.file, link)
            with suppress(TimeoutError):
                async with asyncio.timeout(
                    self.chance.uniform(*A_TOUCH_TAKES_S) if killed else None
                ):
                    self.now.ended = "killed"
                    self.now.ended = await self._touch(machine)
        self.now.healthy = self.now.ended == "touched" and self.world.contact.fault is None
        return self.now

    async def _touch(self, machine: Machine) -> str:
        self.world.clear_away()
        try:
            await machine.connect(patience_s=30.0)
            machine.permit.give()
            await machine.home()
            await machine.go_over(100.0, 100.0)
            self.world.lay_under_nozzle(0.5)
            bracket = await self._try_blades(machine)
        except HostctlError as fault:
            return f"not begun: {type(fault).__name__}"
        descent = machine.descent(bracket, tie())
        self.now.floor_gap_mm = self.world.gap_mm() - (bracket.z_try_mm - descent.floor_z_mm)
        contact = InputContact(machine, "contact", "triggered")
        try:
            await self._prove(contact)
            while (proof := await descent.look(contact.closed)) is not None:
                await descent.step(proof)
            bracket.check_contact_at(descent.z_mm)
            await descent.up()
            await self._prove(contact)
        except HostctlError as fault:
            with suppress(HostctlError):
                await descent.give_up()
            assert not machine.homed
            return f"void: {type(fault).__name__}"
        return "touched"

    async def _try_blades(self, machine: Machine) -> Bracket:
        """Blades come in twentieths of a millimetre."""
        over_mm = self.world.gap_mm() - self.chance.uniform(0.12, 0.3)
        z_try_mm = round((await machine.where()).z_mm - over_mm, 2)
        await machine.lower_to(z_try_mm)
        in_mm = self.world.gap_mm() // 0.05 * 0.05
        return Bracket(where=WHERE, z_try_mm=z_try_mm, in_mm=in_mm, out_mm=in_mm + 0.05)

    async def _prove(self, contact: InputContact) -> None:
        joining = Joining(where=WHERE)
        for joined in (False, True, False):
            self.world.join_leads(joined)
            joining = joining.saw(closed=await contact.closed())
        if not joining.proven:
            raise MachineError(WHERE, "contact is lost", "See to it.")


def _travel() -> Travel:
    x = Span(from_mm=0, to_mm=220)
    return Travel(x=x, y=x, z=Span(from_mm=0, to_mm=250))


async def all_touches() -> list[Touch]:
    done: list[Touch] = []
    for seed in range(TOUCHES // TOUCHES_A_PRINTER):
        bench = Workbench(seed)
        for _ in range(TOUCHES_A_PRINTER):
            done.append(await bench.touches(killed=len(done) % KILLED_EVERY == 0))
        forget_printers()
    return done


@pytest.mark.slow
def test_no_touch_presses_in_further_than_it_may():
    done = in_jumping_time(all_touches())
    ended = Counter(touch.ended for touch in done)
    assert len(done) == TOUCHES
    assert [touch for touch in done if touch.lowest_gap_mm < touch.floor_gap_mm - 1e-3] == []
    healthy = [touch.lowest_gap_mm for touch in done if touch.healthy]
    assert min(healthy) >= -FINE_MM - 1e-3
    assert min(touch.lowest_gap_mm for touch in done) < -FINE_MM  # some were lost or late
    assert len(healthy) > TOUCHES / 3
    assert {"killed", "void: Bounces", "void: NoContactAtFloor", "void: LinkError"} <= ended.keys()
