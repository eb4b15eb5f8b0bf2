"""The machine: asked, measured, and written as a file."""

from collections.abc import Callable, Collection
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

from hostctl.begin.bench.bench import Bench
from hostctl.begin.bench.dry_cycle import told
from hostctl.begin.facts import Facts
from hostctl.begin.keeping import all_kept
from hostctl.begin.lead import led
from hostctl.begin.notes import Notes
from hostctl.begin.talk import BackAsked, LeaveAsked, Talk
from hostctl.begin.written import write_file
from hostctl.cli.first_hour.sitting import asked_alone
from hostctl.config.load import machine_from
from hostctl.config.yaml_text import Source
from hostctl.daemon.assembly.parts import link_for
from hostctl.drafts.machine_file import machine_text
from hostctl.drafts.machine_questions import next_line_question, next_machine_question
from hostctl.drafts.question import Question, Unclear, Value, Way
from hostctl.errors import ConfigError, HostctlError
from hostctl.link.ports_present import ports_present

WRITTEN = "written.machine"
"""The fact that says where its file is."""

PARTS = {
    "space": ("travel.", "highest_point_mm", "heat."),
    "screws": ("screws.", "found.raises.", "seen.screws"),
    "indicator": ("indicator.", "sticks.", "hangs_mm", "mount.", "found."),
    "points": ("points.", "found.pressed.", "seen.dry"),
}
"""What may be asked anew where the file is not taken, by what its keys begin with."""

WRITE = Question(
    key="written.yes",
    text="Shall it be written?",
    why="Nothing is overwritten. You can change the file later by hand: it explains itself.",
    kind="choice",
    ways=(Way(word="write", text="write the file", value=True),),
)

ANEW = Question(
    key="written.anew",
    text="Which part shall be asked anew?",
    why="The file would not be taken as it is.",
    kind="choice",
    ways=tuple(Way(word=part, text=f"all about the {part}", value=part) for part in PARTS),
)


async def machine_led(talk: Talk, notes: Notes, folder: Path, today: date) -> None:
    """Until its file is written: `written.machine`. Raises LeaveAsked, HostctlError."""
    while WRITTEN not in notes.facts:
        await _known(talk, notes, _taken(notes, folder))
        for line in told(notes):
            await talk.say(line)
        await _written(talk, notes, folder, today)


def _taken(notes: Notes, folder: Path) -> set[str]:
    """What other machines are called: those that were begun, and those with a file here."""
    begun = {each.name for each in all_kept()}
    written = {path.stem for path in folder.glob("*.yaml")}
    return (begun | written) - {str(notes.facts.get("machine"))}


async def _known(talk: Talk, notes: Notes, taken: Collection[str]) -> None:
    ports = tuple(port.name for port in ports_present())

    def line(facts: Facts) -> Question | None:
        question = next_line_question(facts, ports=ports, taken=taken)
        if question is None or question.key != "port":
            return question
        return replace(question, check=partial(_can_be_stood_at, question.check))

    def machine(facts: Facts) -> Question | None:
        return next_machine_question(facts, ports=ports, taken=taken)

    bench = Bench(talk, link_for)
    try:
        await led(talk, bench, notes, line, machine)
    finally:
        await bench.close()


def _without_remarks(text: str) -> str:
    """What is set, without why."""
    lines = (line.partition(" #")[0].rstrip() for line in text.splitlines())
    return "\n".join(line for line in lines if line.strip() and not line.startswith("#"))


def _can_be_stood_at(check: Callable[[Value], None] | None, port: Value) -> None:
    """Raises Unclear where nobody can put hands on the machine."""
    if str(port).startswith("/") and not Path(str(port)).exists():
        raise Unclear(f"{port} is not there: is the cable in, the printer on, the name right?")
    if str(port).startswith("sim://"):
        raise Unclear(
            "Nobody can put hands on a printer inside this program. How to try with one beside "
            "it: hostctl reference begin"
        )
    if check is not None:
        check(port)


async def _written(talk: Talk, notes: Notes, folder: Path, today: date) -> None:
    name = notes.facts.text("machine")
    path = folder / f"{name}.yaml"
    text = machine_text(notes.facts, today)
    await talk.title(f"The machine file, {path}")
    await talk.say(_without_remarks(text))
    await talk.say("Each line is explained by a remark in the file.")
    try:
        machine_from(Source(str(path), text))
    except ConfigError as mistakes:
        await talk.say(str(mistakes))
        notes.forget(*PARTS[str(await asked_alone(talk, ANEW))])
        return
    await talk.say("It is in order.")
    try:
        await talk.ask(WRITE)
        write_file(path, text)
    except BackAsked:
        notes.forget("found.pressed.", "seen.dry")
        return
    except HostctlError as why:
        await talk.say(str(why))
        raise LeaveAsked from why
    notes.know({WRITTEN: str(path.resolve())})
    await talk.say(f"Written: {path}")
