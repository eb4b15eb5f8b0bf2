"""`hostctl begin` in a process of its own at a pseudo-terminal, somebody before it, and a simulated
printer at a cable that is a pseudo-terminal too: all of it as on a workshop's bench.

What stands on the screen is told on a socket (`tapped.py`); what is answered is typed.
"""

import asyncio
import fcntl
import json
import os
import pty
import signal
import socket
import sys
import termios
from collections.abc import AsyncIterator, Mapping, Sequence
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from begun import Begun, _judge, _watch
from hostctl_simulators.agenda import Agenda
from hostctl_simulators.pace import MAX, Pacer, Speed
from hostctl_simulators.people import people
from hostctl_simulators.people.people import People
from hostctl_simulators.people.people import Question as Deed
from hostctl_simulators.simulated_printer import Description, SimulatedPrinter
from hostctl_simulators.ways_in.pty_cable import PtyCable
from newcomer import Newcomer

from hostctl.begin.facts import Facts
from hostctl.begin.talk import BackAsked
from hostctl.drafts.question import Question, Way

TAPPED = Path(__file__).resolve().parent / "tapped.py"
LONGEST_S = 240.0
CAREFUL_PITCH_MM = 0.9
"""Of a screw that nobody knows: whoever takes it for coarse turns too little, not too far."""
MOST_EVENTS = 3000
SLOWED = Speed(2.0)
UNDER_WAY_S = 0.08  # real ones, so slowed: a motion has begun, and is not over
MEDDLED_S = 0.25

How = Literal["ctrl-c", "kill", "unplug", "elsewhere", "x"]
"""elsewhere: unplugged, and plugged in again under another name."""
Event = dict[str, Any]


class Pace:
    """Of the simulated printer: as fast as it can, or slowed."""

    def __init__(self, agenda: Agenda) -> None:
        self._agenda = agenda
        self._pacer = Pacer(agenda, MAX)

    def catch_up(self) -> None:
        """As `Pacer`."""
        self._pacer.catch_up()

    def stop(self) -> None:
        """As `Pacer`."""
        self._pacer.stop()

    def at(self, speed: Speed) -> None:
        """From now on."""
        self._pacer.stop()
        self._pacer = Pacer(self._agenda, speed)


@dataclass(frozen=True, slots=True)
class Meddling:
    """What happens at the event of this number, of those told in one sitting."""

    at: int
    how: How
    of: str = ""
    """Only events that begin so are counted: `asked screws.`, `moving The head rises`."""


@dataclass(slots=True)
class Sat:
    """One sitting, from the command to its end."""

    shown: str = ""
    events: list[Event] = field(default_factory=list)
    exit_code: int = 0
    meddled_at: str = ""
    """What was on the screen, or moved, as it was meddled with."""
    mid_motion: bool = False
    """Whether the head was moving then."""
    facts_then: dict[str, Any] = field(default_factory=dict)

    left_as_found: bool = False
    """The terminal echoes and takes whole lines again."""

    @property
    def asked(self) -> list[str]:
        """The keys of all questions, in order."""
        return [event["key"] for event in self.events if event["event"] == "asked"]

    @property
    def text(self) -> str:
        """What was shown, in one line."""
        return " ".join(self.shown.split())


class Typist(Newcomer):
    """Says what is to be typed."""

    study: Mapping[str, str]

    def types(self, question: Question) -> str:
        """An answer to what is on the screen."""
        self._note(question)
        if question.key == "points":
            return question.ways[0].word
        if question.key == "lead.once_more" and any(way.word == "port" for way in question.ways):
            return "port"
        if question.key in HOUR:
            return HOUR[question.key]
        said = self._right(question)
        self._remember(question, said or question.suggested)
        return said


SHORT_STUDY = {
    "judged": "",
    "methods.1": "",
    "methods.2": "",
    "methods.2.leaf_mm": "",
    "methods.3": "",
    "operators": "volunteer-a",
    "gauge.resolution_mm": "",
    "tolerance.within_mm": "",
    "trials": "4",
    "title": "",
    "study": "",
}
HOUR = {"rig.now": "now", "study_run.now": "now", **SHORT_STUDY}


class Bench:
    """A printer at its cable, a person, and where the files are."""

    def __init__(
        self, folder: Path, printer: SimulatedPrinter, pace: Pace, cable: PtyCable, seed: int
    ) -> None:
        self.folder = folder
        self.printer = printer
        self.cable = cable
        self.pace = pace
        self.seed = seed
        self.found = Begun(seed=seed, slip=None)
        self.failings = ["never as far as its file"]
        self.person = Typist(printer.world, str(cable.link))
        self.people = People(printer.world)
        self.name = self.person._machine["name"]
        printer.world.attended = True
        _watch(printer.world, self.found)

    @property
    def kept_at(self) -> Path:
        """The file of what is known so far."""
        return self.folder / "state/begun" / f"{self.name}.json"

    def plug_in_elsewhere(self) -> None:
        """The cable is pulled, and its port has another name afterwards."""
        self.printer.unplug()
        self.cable.link = self.folder / "other-port"
        self.person._port = str(self.cable.link)
        self.printer.agenda.after(1.0, self.printer.replug)

    def facts(self) -> dict[str, Any]:
        """What lies on the disk. Raises ValueError where it is not whole."""
        if not self.kept_at.exists():
            return {}
        held: dict[str, Any] = json.loads(self.kept_at.read_text())["facts"]
        return held

    def judge(self) -> None:
        """The facts held against what the machine is, as the file is to be written.

        In a run the nozzle comes nearer to the bed.
        """
        self.found.facts = Facts(self.facts())
        origin_z_mm = self.printer.board.carriage.origin.z_mm
        _judge(self.found, self.printer.world, self.person, origin_z_mm)
        self.failings = self.found.failings

    async def sit(
        self,
        *words: str,
        meddling: Sequence[Meddling] = (),
        environment: Mapping[str, str] | None = None,
        until: str = "",
    ) -> Sat:
        """`hostctl begin …` from start to end, right answers typed.

        until: the key of the question at which they leave.
        """
        return await _Sitting(self, meddling, until).through(words, environment or {})


@asynccontextmanager
async def bench_at(folder: Path, url: str) -> AsyncIterator[Bench]:
    """url: of the simulated printer; its files in `folder`."""
    (folder / "state").mkdir(exist_ok=True)
    description = Description.parse(url)
    printer = SimulatedPrinter(description)
    pace = Pace(printer.agenda)
    cable = PtyCable(printer, pace, folder / "port")  # type: ignore[arg-type]
    believed_mm, people.PITCH_MM = people.PITCH_MM, CAREFUL_PITCH_MM
    try:
        yield Bench(folder, printer, pace, cable, description.seed)
    finally:
        people.PITCH_MM = believed_mm
        cable.close()
        pace.stop()


class _Sitting:
    """One process, one terminal."""

    def __init__(self, bench: Bench, meddling: Sequence[Meddling], until: str) -> None:
        self._bench = bench
        self._meddling = meddling
        self._until = until
        self._sat = Sat()
        self._read_to = 0
        self._gone = False  # the program is on its way out

    async def through(self, words: tuple[str, ...], environment: Mapping[str, str]) -> Sat:
        self._end, tty = pty.openpty()
        termios.tcsetwinsize(tty, (24, 80))
        os.set_blocking(self._end, False)
        ours, theirs = socket.socketpair()
        self._process = await asyncio.create_subprocess_exec(
            sys.executable,
            str(TAPPED),
            str(theirs.fileno()),
            "begin",
            *words,
            "--folder",
            str(self._bench.folder),
            stdin=tty,
            stdout=tty,
            stderr=tty,
            pass_fds=(theirs.fileno(),),
            start_new_session=True,
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
            env=self._environment(environment),
        )
        os.close(tty)
        theirs.close()
        asyncio.get_running_loop().add_reader(self._end, self._read)
        told, answering = await asyncio.open_connection(sock=ours, limit=1 << 20)
        try:
            async with asyncio.timeout(LONGEST_S):
                await self._led(told, answering)
                self._sat.exit_code = await self._process.wait()
        except TimeoutError:
            raise AssertionError(f"no end:\n{self._sat.shown[-2000:]}") from None
        finally:
            if self._process.returncode is None:
                self._process.kill()
                await self._process.wait()
            self._read()
            asyncio.get_running_loop().remove_reader(self._end)
            wanted = termios.ECHO | termios.ICANON
            self._sat.left_as_found = termios.tcgetattr(self._end)[3] & wanted == wanted
            os.close(self._end)
            answering.close()
        return self._sat

    def _environment(self, more: Mapping[str, str]) -> dict[str, str]:
        kept = {key: os.environ[key] for key in ("PATH", "HOME", "PYTHONPATH") if key in os.environ}
        return {
            **kept,
            "TERM": "xterm-256color",
            "LC_ALL": "C.UTF-8",
            "HOSTCTL_DATABASE": str(self._bench.folder / "state/hostctl.db"),
            **more,
        }

    def _read(self) -> None:
        try:
            while data := os.read(self._end, 65536):
                self._sat.shown += data.decode(errors="replace").replace("\r\n", "\n")
        except BlockingIOError:
            pass
        except OSError:  # nobody holds the other end
            asyncio.get_running_loop().remove_reader(self._end)

    async def _led(self, told: asyncio.StreamReader, answering: asyncio.StreamWriter) -> None:
        while line := await _line_of(told):
            event: Event = json.loads(line)
            self._sat.events.append(event)
            if len(self._sat.events) > MOST_EVENTS:
                raise AssertionError(f"no end: {self._sat.asked[-20:]}")
            meddles = self._due(event)
            if meddles and event["event"] in ("moving", "prompt"):
                self._bench.pace.at(SLOWED)
            with suppress(ConnectionError):
                answering.write(b".")
                await answering.drain()
            if meddles:
                await self._meddle(event, meddles.how)
            if not self._gone and not (meddles and event["event"] == "prompt"):
                await self._answer(event)

    def _due(self, event: Event) -> Meddling | None:
        """What happens at this event, the last of those told."""
        for each in self._meddling:
            if _named(event).startswith(each.of):
                counted = [told for told in self._sat.events if _named(told).startswith(each.of)]
                if len(counted) == each.at:
                    return each
        return None

    async def _meddle(self, event: Event, how: How) -> None:
        if event["event"] == "prompt":  # what moves once it is answered
            await self._answer(event)
        if event["event"] in ("moving", "prompt"):
            await asyncio.sleep(UNDER_WAY_S)
        self._sat.meddled_at = _named(event)
        self._sat.mid_motion = not self._bench.printer.board.carriage.planner.idle
        with suppress(ValueError):
            self._sat.facts_then = self._bench.facts()
        match how:
            case "ctrl-c":
                self._type("\x03")
            case "kill":
                self._process.send_signal(signal.SIGKILL)
            case "x":
                self._type("x")
            case "unplug":
                self._bench.printer.unplug(1.0)
            case "elsewhere":
                self._bench.plug_in_elsewhere()
        await asyncio.sleep(MEDDLED_S)
        self._bench.pace.at(MAX)
        self._gone = how in ("ctrl-c", "kill")

    async def _answer(self, event: Event) -> None:
        if event["event"] == "asked":
            question = question_of(event)
            self._hear()
            if question.key == self._until:
                self._type("leave\r")
                return
            if question.key == "written.yes":
                self._bench.judge()
            try:
                said = self._bench.person.types(question)
            except BackAsked:
                said = "back"
            self._type(f"{said}\r")
        elif event["event"] == "prompt":
            self._type(self._to_prompt(event))

    def _hear(self) -> None:
        """What was shown since the last question."""
        self._read()
        said, self._read_to = self._sat.shown[self._read_to :], len(self._sat.shown)
        text = " ".join(said.split())
        self._bench.person.heard.append(text)
        if "Fix it to the head another way" in text or "to another side of the head" in text:
            self._bench.person._bench.take_indicator_off()
            self._bench.person._bench.fix_closer()

    def _to_prompt(self, event: Event) -> str:
        said = self._bench.people.answer(Deed.from_json(event))
        if said.choice is not None:
            return next(each["key"] for each in event["choices"] if each["word"] == said.choice)
        if said.reading_mm is not None:
            return f"{said.reading_mm:.2f}\r"
        return "\r" if self._screen_has_keys else "done\r"

    @property
    def _screen_has_keys(self) -> bool:
        return "\x1b[?1049h" in self._sat.shown

    def _type(self, keys: str) -> None:
        with suppress(OSError):
            os.write(self._end, keys.encode())


def _named(event: Event) -> str:
    return f"{event['event']} {event.get('key') or event.get('what') or ''}".strip()


async def _line_of(told: asyncio.StreamReader) -> bytes:
    try:
        return await told.readline()
    except ConnectionError:
        return b""


def question_of(event: Event) -> Question:
    """As it was asked, but for its check."""
    ways = tuple(Way(**way) for way in event["ways"])
    return Question(
        **{
            key: event[key]
            for key in ("key", "text", "why", "kind", "unit", "least", "most", "suggested", "read")
        },
        ways=ways,
    )
