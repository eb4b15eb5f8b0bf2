"""The first hour from end to end. What is known lies on the disk after each answer."""

import asyncio
import signal
import sys
from collections.abc import Awaitable, Callable
from datetime import date, datetime
from pathlib import Path
from typing import TypeVar

from hostctl.begin.facts import Facts
from hostctl.begin.keeping import Begun, all_kept, keep, kept
from hostctl.begin.notes import Notes
from hostctl.begin.talk import LeaveAsked, Talk
from hostctl.begin.terminal import Terminal
from hostctl.cli.first_hour.machine import machine_led
from hostctl.cli.first_hour.rig import check_rig
from hostctl.cli.first_hour.study import judge_by_study
from hostctl.drafts.question import Question, Way
from hostctl.store.store import utc_now

T = TypeVar("T")
WELCOME = """\
From a printer that this program has never seen to the first verdict, one question at a time.
? says what a word means, `back` takes the last answer back, `leave` stops here: all that is
known is kept, and taken up again by the same command.

A printer can crush, burn and start fires. The maker's manual, your local codes and licensed
practice come before what is said here. Stay with it. The emergency stop is its mains switch:
know where it is, and that you can reach it."""


class Hour:
    """One sitting at one terminal."""

    def __init__(self, *, folder: Path, database: Path) -> None:
        """folder: where files are written. database: where runs are recorded."""
        self.folder = folder
        self.database = database

    def go_through(self, name: str | None) -> None:
        """Until the study is judged, or the person leaves. Raises HostctlError."""
        notes = Notes(Facts(), self._keeping())
        try:
            notes.facts = self.talked(lambda talk: _begun(talk, name))
            self.talked(lambda talk: machine_led(talk, notes, self.folder, _today()))
            check_rig(self, notes)
            judge_by_study(self, notes)
        except LeaveAsked:
            named = f" {notes.facts['machine']}" if "machine" in notes.facts else ""
            print(f"\nAll that is known is kept. Go on with: hostctl begin{named}")

    def talked(self, part: Callable[[Talk], Awaitable[T]]) -> T:
        """Part of the sitting in which questions are asked; a run has the terminal for itself."""
        with Terminal.opened(sys.stdin.fileno(), sys.stdout.fileno()) as talk:
            return asyncio.run(_ended_in_order(part(talk)))

    def _keeping(self) -> Callable[[Facts], None]:
        """Puts facts on the disk; under their machine's new name, where it was given another."""
        was: str | None = None

        def keep_now(facts: Facts) -> None:
            nonlocal was
            keep(facts, utc_now(), was)
            was = _name(facts)

        return keep_now


async def _ended_in_order(part: Awaitable[T]) -> T:
    """SIGTERM and SIGHUP end it as an interrupt does: the machine is left safe."""
    loop, task = asyncio.get_running_loop(), asyncio.current_task()
    assert task is not None
    for number in (signal.SIGTERM, signal.SIGHUP):
        loop.add_signal_handler(number, task.cancel)
    try:
        return await part
    except asyncio.CancelledError:
        raise KeyboardInterrupt("Interrupted. Go on with: hostctl begin") from None
    finally:
        for number in (signal.SIGTERM, signal.SIGHUP):
            loop.remove_signal_handler(number)


async def _begun(talk: Talk, name: str | None) -> Facts:
    """What is known already of the machine that is meant; nothing of a new one."""
    await talk.say(WELCOME)
    if name is not None:
        begun = kept(name)
        return begun.facts if begun else Facts({"machine": name})
    found = [each for each in all_kept() if isinstance(each, Begun)]
    if not found:
        return Facts()
    ways = [
        Way(word=each.name, text=f"begun, last on {_day(each.kept_at)}: go on", value=each.name)
        for each in found
    ]
    chosen = await talk.ask(
        Question(
            key="begun",
            text="Which machine is it?",
            why="These were begun and not finished.",
            kind="choice",
            ways=(*ways, Way(word="new", text="another one", value="")),
        )
    )
    return next((each.facts for each in found if each.name == chosen), Facts())


def _day(at: datetime) -> str:
    return f"{at.astimezone():%Y-%m-%d at %H:%M}"


def _today() -> date:
    return utc_now().astimezone().date()


def _name(facts: Facts) -> str | None:
    name = facts.get("machine")
    return name if isinstance(name, str) else None
