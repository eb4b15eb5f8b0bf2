"""The first study: by questions, with what it will be able to show, then carried out."""

from collections.abc import Mapping
from pathlib import Path

from hostctl.begin.keeping import forget
from hostctl.begin.notes import Notes
from hostctl.begin.talk import BackAsked, LeaveAsked, Talk
from hostctl.begin.written import write_file
from hostctl.cli.first_hour.machine import WRITTEN
from hostctl.cli.first_hour.rig import known
from hostctl.cli.first_hour.running import carried_out
from hostctl.cli.first_hour.sitting import Sitting, asked_alone
from hostctl.config.find import SHIPPED
from hostctl.config.load import machine_from, study_from
from hostctl.config.machine import Machine
from hostctl.config.yaml_text import Source
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.foreseen import foreseen, told
from hostctl.drafts.question import Question, Value, Way
from hostctl.drafts.study_file import study_text
from hostctl.drafts.study_questions import next_question
from hostctl.errors import HostctlError

ANSWERED = "study."
"""What the keys of its answers begin with, among the facts."""
STUDY_WRITTEN = "written.study"

WRITE = Question(
    key="study_written.yes",
    text="Shall this study be written?",
    why="Nothing is overwritten; you can change the file later by hand. `back` changes an answer.",
    kind="choice",
    ways=(Way(word="write", text="write the file", value=True),),
)

NOW = Question(
    key="study_run.now",
    text="Shall it be carried out now?",
    why="It asks you step by step, and can be stopped and gone on with at any time.",
    kind="choice",
    ways=(
        Way(word="now", text="begin it here", value=True),
        Way(word="later", text="stop here; all is kept", value=False),
    ),
)


def judge_by_study(sitting: Sitting, notes: Notes) -> None:
    """Asked, written, carried out, and judged. Raises LeaveAsked, HostctlError."""
    machine = Source.of(Path(notes.facts.text(WRITTEN)))
    file = machine_from(machine)
    if STUDY_WRITTEN not in notes.facts:
        rig = known(sitting.database, file.machine)
        sitting.talked(lambda talk: _written(talk, notes, file, rig, sitting.folder))
    study = Source.of(Path(notes.facts.text(STUDY_WRITTEN)))
    if not sitting.talked(lambda talk: asked_alone(talk, NOW)):
        raise LeaveAsked
    carried_out(sitting.database, study, machine)
    forget(notes.facts.text("machine"))


async def _written(
    talk: Talk, notes: Notes, machine: Machine, rig: RigKnown | None, folder: Path
) -> None:
    """Asked until its file is written: `written.study`."""
    await talk.title("Your study")
    await talk.say("Which ways of setting the gap are judged, in whose hands, and how finely.")
    while STUDY_WRITTEN not in notes.facts:
        try:
            await _answered(talk, notes, machine, rig, folder)
            await _shown_and_written(talk, notes, machine, rig, folder)
        except BackAsked:
            if last := [key for key in notes.facts if key.startswith(ANSWERED)]:
                notes.forget(last[-1])
            else:
                await talk.say("This is the first question.")


async def _answered(
    talk: Talk, notes: Notes, machine: Machine, rig: RigKnown | None, folder: Path
) -> None:
    taken = frozenset(
        path.stem for where in (SHIPPED / "studies", folder) for path in where.glob("*.yaml")
    )
    while (due := next_question(answers(notes.facts), machine, rig, taken)) is not None:
        notes.know({f"{ANSWERED}{due.key}": await talk.ask(due)})


async def _shown_and_written(
    talk: Talk, notes: Notes, machine: Machine, rig: RigKnown | None, folder: Path
) -> None:
    given = answers(notes.facts)
    path = folder / f"{given['study']}.yaml"
    text = study_text(given, machine)
    await talk.title(f"The study file, {path}")
    await talk.say(text)
    await talk.title("What is to be expected of it")
    for line in told(foreseen(study_from(Source(str(path), text)), machine, rig)):
        await talk.say(line)
    await talk.ask(WRITE)
    try:
        write_file(path, text)
    except HostctlError as why:
        await talk.say(str(why))
        raise BackAsked from why
    notes.know({STUDY_WRITTEN: str(path.resolve())})
    await talk.say(f"Written: {path}")


def answers(facts: Mapping[str, Value]) -> dict[str, Value]:
    """The answers about the study, by their own keys, in order."""
    return {
        key.removeprefix(ANSWERED): value
        for key, value in facts.items()
        if key.startswith(ANSWERED)
    }
