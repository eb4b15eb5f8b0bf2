"""While the daemon asks about a thermal fault somebody may reach in, so nothing can be allowed."""

import asyncio
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "machine"))

from bench_files import machine_file
from small_printer import SmallPrinter

from hostctl.daemon.attending.thermal import have_it_looked_at
from hostctl.deeds import LookAtThermalFault
from hostctl.link.faults import thermal_fault
from hostctl.machine.machine import Machine
from hostctl.machine.permit import MotionForbidden
from hostctl.news import Answer, Word
from hostctl.run.station import Station
from hostctl.store.store import Store


async def test_until_it_is_said_to_be_looked_at_nobody_can_allow_motion(tmp_path: Path):
    station = Station("bench", now=lambda: datetime.now(UTC), studies=list)
    printer = SmallPrinter()
    printer.thermal_fault = thermal_fault("bench", "thermal runaway, heater E0")
    machine = Machine(machine_file(), printer)
    async with Store.opened(tmp_path / "hostctl.sqlite") as store, asyncio.TaskGroup() as tasks:
        asking = tasks.create_task(have_it_looked_at(machine, station, store))
        async with station.desk.listening() as news:
            async for _ in news:
                if station.desk.open_prompt is not None:
                    break
        asked = station.desk.open_prompt
        assert asked is not None
        assert asked.deed == LookAtThermalFault()
        machine.permit.give()
        with pytest.raises(MotionForbidden):
            machine.permit.check()
        station.desk.answer(
            Answer(
                prompt_id=asked.prompt_id,
                word=Word.DONE,
                channel="terminal",
                given_at=datetime.now(UTC),
            )
        )
        await asking
    assert machine.troubles.thermal_fault is None
    with pytest.raises(MotionForbidden):  # looked at is not yet allowed
        machine.permit.check()
