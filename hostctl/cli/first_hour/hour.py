"""The first hour from end to end. What is known lies on the disk after each answer."""

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

from hostctl.begin.facts import Facts
from hostctl.begin.keeping import Begun, Unreadable, all_kept, keep, kept
from hostctl.begin.notes import Notes
from hostctl.begin.talk import LeaveAsked, Talk
from hostctl.cli.first_hour.machine import machine_led
from hostctl.cli.first_hour.rig import check_rig
from hostctl.cli.first_hour.sitting import Sitting, asked_alone
from hostctl.cli.first_hour.study import judge_by_study
from hostctl.cli.next_steps.step import Step, naming
from hostctl.drafts.question import Question, Way
from hostctl.errors import RunStopped
from hostctl.store.store import utc_now

WELCOME = (
    "From a printer that this program has never seen to the first verdict, one question at a time. "
    "All that is known is kept after each answer, and taken up again by the same command."
)
CAUTION = (
    "A printer can crush, burn and start fires. The maker's manual, your local codes and licensed "
    "practice come before what is said here. Stay with it, and know where its mains switch is: "
    "that is the emergency stop."
)


def go_through(sitting: Sitting, name: str | None) -> None:
    """Until the study is judged, or the person leaves. Raises HostctlError."""
    notes = Notes(Facts(), _keeping())
    try:
        notes.facts = sitting.talked(lambda talk: _begun(talk, name))
        sitting.talked(lambda talk: machine_led(talk, notes, sitting.folder, _today()))
        check_rig(sitting, notes)
        judge_by_study(sitting, notes)
    except LeaveAsked:
        print(f"\n{_how_to_go_on(sitting, notes)}")
    except RunStopped as stopped:
        how = _how_to_go_on(sitting, notes)
        raise RunStopped(stopped.where, stopped.what, how) from stopped
    except KeyboardInterrupt:
        raise KeyboardInterrupt(f"Interrupted. {_how_to_go_on(sitting, notes)}") from None


def _how_to_go_on(sitting: Sitting, notes: Notes) -> str:
    name = _name(notes.facts)
    elsewhere = () if sitting.folder == Path() else ("--folder", str(sitting.folder))
    words = ("begin", *((name,) if name else ()), *elsewhere, *naming(sitting.database))
    return f"All that is known is kept. Go on with: {Step(why='', words=words).command}"


def _keeping() -> Callable[[Facts], None]:
    """Puts facts on the disk; under their machine's new name, where it was given another."""
    was: str | None = None

    def keep_now(facts: Facts) -> None:
        nonlocal was
        keep(facts, utc_now(), was)
        was = _name(facts) or was

    return keep_now


async def _begun(talk: Talk, name: str | None) -> Facts:
    """What is known already of the machine that is meant; nothing of a new one."""
    await talk.say(WELCOME)
    await talk.say(CAUTION)
    if name is not None:
        begun = kept(name)
        return begun.facts if begun else Facts({"machine": name})
    everything = all_kept()
    found = [each for each in everything if isinstance(each, Begun)]
    for each in everything:
        if isinstance(each, Unreadable):
            await talk.say(each.trouble)
    if not found:
        return Facts()
    ways = [
        Way(word=each.name, text=f"begun, last on {_day(each.kept_at)}: go on", value=each.name)
        for each in found
    ]
    chosen = await asked_alone(
        talk,
        Question(
            key="begun",
            text="Which machine is it?",
            why="These were begun and not finished.",
            kind="choice",
            ways=(*ways, Way(word="another", text="none of these", value="")),
            suggested=ways[0].word,
        ),
    )
    return next((each.facts for each in found if each.name == chosen), Facts())


def _day(at: datetime) -> str:
    return f"{at.astimezone():%Y-%m-%d at %H:%M}"


def _today() -> date:
    return utc_now().astimezone().date()


def _name(facts: Facts) -> str | None:
    name = facts.get("machine")
    return name if isinstance(name, str) else None
