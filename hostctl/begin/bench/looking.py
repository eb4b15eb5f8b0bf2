"""The controller greeted: what it says is shown, and moves nothing."""

from hostctl.begin.bench.bench import Bench
from hostctl.begin.notes import Notes
from hostctl.drafts.question import Question, Way
from hostctl.errors import HostctlError
from hostctl.machine.dialects.classic import Classic
from hostctl.machine.dialects.dialect import recognised
from hostctl.machine.dialects.terse import Terse

WORDS = {
    "dialect": "How a controller words what it says. Both are widely spoken.",
    "classic": "Remarks begin with `echo:`, errors with `Error:`.",
    "terse": "Remarks begin with `//`, errors with `!!`; it moves nothing before it is homed.",
}


async def look(bench: Bench, notes: Notes) -> None:
    """`dialect`. Raises HostctlError where nothing intelligible answers."""
    await bench.connect(notes.facts)
    for line in await _said(bench):
        await bench.talk.say(line)
    heard = recognised(bench.greeting) if bench.greeting else None
    question = Question(
        key="dialect",
        text="Which dialect does it speak?",
        why="It is learned from what the controller says, each time; say it only if you know it.",
        kind="choice",
        ways=(
            Way(word="learn", text="let the program learn it", value=None),
            Way(word=Classic.name, text=WORDS["classic"], value=Classic.name),
            Way(word=Terse.name, text=WORDS["terse"], value=Terse.name),
        ),
        suggested="learn",
        read=f"so far it sounds like {heard.name}" if heard else "it doesn't say yet",
        words=WORDS,
    )
    notes.know({"dialect": await bench.ask(question)})


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
