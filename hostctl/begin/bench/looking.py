"""The controller greeted: what it says is shown, and moves nothing."""

from hostctl.begin.bench.bench import Bench
from hostctl.begin.notes import Notes
from hostctl.errors import HostctlError
from hostctl.machine.dialects.dialect import recognised


async def look(bench: Bench, notes: Notes) -> None:
    """`dialect`, left to be learned. Raises HostctlError where nothing intelligible answers."""
    await bench.connect(notes.facts)
    for line in await _said(bench):
        await bench.talk.say(line)
    heard = recognised(bench.greeting) if bench.greeting else None
    speaks = f"It speaks the dialect '{heard.name}'" if heard else "Its dialect shows as it homes"
    await bench.talk.say(f"{speaks}; that is learned anew each time it is connected.")
    notes.know({"dialect": None})


async def _said(bench: Bench) -> list[str]:
    machine, greeting = bench.machine, bench.greeting
    firmware = greeting.firmware if greeting and greeting.firmware else "nothing of itself"
    lines = [f"It answers. It says: {firmware[:200]}"]
    try:
        at, warmth = await machine.where(), await machine.check_cool()
    except HostctlError as why:
        return [*lines, str(why)]
    lines.append(
        f"By its own count the head is at x {at.x_mm:g}, y {at.y_mm:g}, z {at.z_mm:g} mm; before "
        "homing that means nothing."
    )
    bed = "no bed sensor" if warmth.bed_c is None else f"bed {warmth.bed_c:.0f} °C"
    lines.append(f"Nozzle {warmth.nozzle_c:.0f} °C, {bed}.")
    return lines
