"""The rig check of the machine just begun, and what its result means."""

from pathlib import Path

from hostctl.begin.notes import Notes
from hostctl.begin.talk import LeaveAsked, Talk
from hostctl.begin.written import write_file
from hostctl.cli.first_hour.machine import WRITTEN
from hostctl.cli.first_hour.running import carried_out, stopped_run
from hostctl.cli.first_hour.sitting import Sitting, asked_alone
from hostctl.config.load import machine_from, study_from
from hostctl.config.machine import Machine
from hostctl.config.yaml_text import Source
from hostctl.daemon.assembly.plan import study_file
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.question import Question, Way
from hostctl.drafts.rig_known import rig_known, what_it_means
from hostctl.drafts.study_file import study_text
from hostctl.drafts.study_summary import study_summary, told

SHIPPED = "rig-check"
USUAL_WITHIN_MM = 0.05
"""The tolerance that shipped studies have."""
PASSED_OVER = "rig.passed_over"


def check_rig(sitting: Sitting, notes: Notes) -> None:
    """Until a rig check of the machine is on record, or is passed over.

    Raises LeaveAsked, RunStopped, HostctlError.
    """
    machine = Source.of(Path(notes.facts.text(WRITTEN)))
    file = machine_from(machine)
    if PASSED_OVER in notes.facts or known(sitting.database, file.machine) is not None:
        return
    study = _study_for(sitting, notes, file)
    checked = study_from(study)
    summary = told(study_summary(checked, file))
    if stopped := stopped_run(sitting.database, checked.study, file.machine):
        summary += f". Run {stopped} of it has stopped before its end: `now` goes on there"
    match sitting.talked(lambda talk: _asked(talk, summary)):
        case "later":
            raise LeaveAsked
        case "without":
            notes.know({PASSED_OVER: True})
            return
        case _:
            carried_out(sitting.database, study, machine)
    sitting.talked(lambda talk: _meaning(talk, sitting.database, file.machine))


def known(database: Path, machine: str) -> RigKnown | None:
    """What its last rig check found; None: there is none."""
    return rig_known(database, machine) if database.exists() else None


async def _asked(talk: Talk, summary: str) -> object:
    await talk.title("The rig check")
    await talk.say(
        "Machine, indicator and mount are measured alone, with nothing adjusted: the same cycle "
        "again and again. No method can be judged finer than that."
    )
    await talk.say(f"{summary}.")
    return await asked_alone(
        talk,
        Question(
            key="rig.now",
            text="Shall it be carried out now?",
            why="Without it a method's own spread can't be told from the rig's.",
            kind="choice",
            ways=(
                Way(word="now", text="begin it here", value="now"),
                Way(word="later", text="stop here for today; all is kept", value="later"),
                Way(word="without", text="go on to the study without it", value="without"),
            ),
        ),
    )


async def _meaning(talk: Talk, database: Path, machine: str) -> None:
    rig = known(database, machine)
    await talk.title("What the rig check means")
    if rig is None:
        await talk.say("It says too little to judge by. It can be carried out anew at any time.")
        return
    for line in what_it_means(rig, USUAL_WITHIN_MM):
        await talk.say(line)


def _study_for(sitting: Sitting, notes: Notes, file: Machine) -> Source:
    """The shipped one, or the same at a point of this machine, as a file of its own."""
    shipped = study_file(SHIPPED)
    study = study_from(shipped)
    resolution_mm = notes.facts.number("indicator.resolution_mm")
    fits = {point.name for point in file.points} >= set(study.points)
    if fits and study.gauge.resolution_mm == resolution_mm:
        return shipped
    name = f"{file.machine[:29]}-rig-check"
    text = study_text(
        {
            "judged": "rig",
            "points": file.points[0].name,
            "gauge.kind": "typed",
            "gauge.resolution_mm": resolution_mm,
            "trials": study.trials,
            "title": study.title,
            "study": name,
        },
        file,
    )
    path = sitting.folder / f"{name}.yaml"
    if not path.exists():
        write_file(path, text)
    return Source.of(path)
