"""A thermal fault of a machine that rests: kept, shown, and asked about before anything else.

No run asks then, so the attendant does. It outlives the daemon: the port of a machine with a fault
that nobody has looked at is not opened, since that resets most boards.
"""

import json
from contextlib import suppress

from hostctl.errors import StoreError, ThermalFault
from hostctl.link.faults import thermal_fault
from hostctl.machine.machine import Machine
from hostctl.news import HoldBegan, HoldLifted, Prompt, Word
from hostctl.run.holds.hold_wording import look_at_thermal_fault
from hostctl.run.station import Station
from hostctl.store.rows import LOOKED_AT, THERMAL_FAULT, NewEvent
from hostctl.store.store import Store


async def kept_thermal_fault(store: Store, machine: str) -> ThermalFault | None:
    """The fault of this machine that nobody has looked at yet, from whichever run or day."""
    what = await store.thermal_fault(machine)
    return None if what is None else thermal_fault(machine, what)


async def have_it_looked_at(machine: Machine, station: Station, store: Store) -> None:
    """Show it as a hold and ask until somebody says that it was looked at; then it may connect."""
    fault = machine.troubles.thermal_fault
    if fault is None:
        return
    if await store.thermal_fault(station.name) is None:
        await _note(store, station, THERMAL_FAULT, fault.what)
    station.desk.tell(HoldBegan(reason=str(fault)))
    station.changed()
    channel = await _looked_at_on(machine, station, fault)
    machine.troubles.thermal_fault_was_looked_at()
    await _note(store, station, LOOKED_AT, f"on {channel}")
    station.desk.tell(HoldLifted(channel=channel))
    station.changed()


async def _looked_at_on(machine: Machine, station: Station, fault: ThermalFault) -> str:
    """The channel on which it was said. Hold and end change nothing here."""
    while True:
        words, opened_at = look_at_thermal_fault(str(fault), heated=False), station.now()
        prompt = Prompt(
            prompt_id=f"0-{station.name}-{int(opened_at.timestamp() * 1000):x}",
            deed=words.deed,
            text=words.text,
            detail=words.detail,
            moves_next="",
            place=None,
            opened_at=opened_at,
            resolution_mm=None,
        )
        with machine.permit.withdrawn_for(words.deed):
            answer = await station.desk.ask(prompt)
        if answer.word is Word.DONE:
            return answer.channel


async def _note(store: Store, station: Station, kind: str, text: str) -> None:
    """A full disk does not keep anybody from being asked."""
    data = json.dumps({"machine": station.name})
    with suppress(StoreError):
        await store.add_event(NewEvent(run=None, at=station.now(), kind=kind, text=text, data=data))
