"""Killed with SIGKILL at random instants while people answer on every channel: is anything lost?

A trial is one life of a program: the daemon (answered on the phone page, the local socket and by
messages over a real mosquitto, in turns), or `hostctl run`, answered by JSON lines or on a
pseudo-terminal. It is killed within 30 ms of some answer, and the run gone on with in the next
life. Each time it is seen that

- every answer that was acknowledged is on the disk once, as it was given, and none twice,
- no reading was kept without its answer, and every reading that was told is on the disk,
- `redo` and `skip` that were kept have been done,
- the next life tells what was kept last, so also what was kept and not acknowledged.

Run: python tests/benchmarks/kill_trials.py [kills [seed]]
"""

import asyncio
import json
import random
import shutil
import sys
import tempfile
import threading
from collections import Counter
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

TESTS = Path(__file__).parents[1]
sys.path[:0] = [
    str(TESTS),
    *(str(TESTS / room) for room in ("daemon", "messages", "page", "benchmarks")),
]

import aiohttp  # noqa: E402  # all by the paths set above
from aiomqtt import MqttError  # noqa: E402
from at_a_terminal import AtTerminal  # noqa: E402
from at_the_station import MACHINE, Phone, phone_at, until  # noqa: E402
from browser_client import Browser, browser_at  # noqa: E402
from daemon_process import Daemon  # noqa: E402
from kept_port import kept_port  # noqa: E402
from kill_book import Book, Given  # noqa: E402
from real_broker import real_broker  # noqa: E402

from hostctl.errors import DaemonError  # noqa: E402

KILLS, SEED = 200, 20261128
MOST_ANSWERS = 12  # of one life
WITHIN_S = (0.003, 0.03)  # after an answer was sent: while it is kept; while it is acted on
TRIALS = 9000  # so that the run is never over
PATIENCE_S = 60.0


# ------------------------------------------------------------ the daemon and its three channels


@dataclass
class AtTheDaemon:
    """Everything around the daemon that outlives it."""

    daemon: Daemon
    phone: Phone
    page: str
    book: Book

    async def life(self) -> None:
        """One life: begin, answer, be killed, look."""
        daemon, run = self.daemon, self.book.run
        begin: dict[str, object] = {"resume": run} if run else {"study": "small"}
        await asyncio.to_thread(daemon.start)
        await asyncio.to_thread(daemon.start_run, MACHINE, **begin)
        first = await self._asked("")
        self.book.see_it_is_told(str(first["detail"]))
        last_of_life, killing = self.book.chance.randint(1, MOST_ANSWERS), None
        gone = (DaemonError, aiohttp.ClientError, OSError, MqttError, TimeoutError)
        async with browser_at(self.page) as browser:
            await browser.enter()
            try:
                prompt = first
                for number in range(1, TRIALS):
                    if number == last_of_life:
                        killing = asyncio.create_task(self._kill())
                    await self._answer(browser, prompt)
                    prompt = await self._asked(str(prompt["prompt_id"]))
            except gone as why:
                told = f"{why!r}\n{self.phone.refusals()[-3:]}\n{self.daemon.log[-2000:]}"
                assert killing is not None, told
        assert killing is not None
        await killing
        await until(lambda: self.phone.plain("online")[-1:] != [b"online"])
        self._see_messages()  # the broker tells of the end after all that was sent before it
        self.book.check()

    async def _kill(self) -> None:
        await asyncio.sleep(self.book.moment_s(WITHIN_S))
        assert self.daemon.process is not None
        self.daemon.process.kill()
        await asyncio.to_thread(self.daemon.process.wait)

    async def _asked(self, before: str) -> dict[str, Any]:
        """The next prompt. Raises DaemonError when there is no daemon any more."""
        async with asyncio.timeout(PATIENCE_S):
            while True:
                prompt = (await asyncio.to_thread(self.daemon.machine, MACHINE))["prompt"]
                if isinstance(prompt, dict) and prompt["prompt_id"] != before:
                    return prompt
                await asyncio.sleep(0.002)

    async def _answer(self, browser: Browser, prompt: dict[str, Any]) -> None:
        channel = self.book.chance.choice(["phone page", "command line", "messages"])
        prompt_id = prompt["prompt_id"]
        given = self.book.say(channel, prompt["kind"], prompt["trial"], prompt_id)
        text = given.word if given.reading_mm is None else f"{given.reading_mm:.2f}"
        match channel:
            case "phone page":
                said = {"machine": MACHINE, "prompt_id": prompt_id, "word": given.word}
                pressed_at = datetime.now(UTC).timestamp() * 1000
                said |= {"typed": text, "pressed_at": pressed_at}
                status, why = await browser.post("/answer", said)
                assert status == 200, why
            case "command line":
                await asyncio.to_thread(
                    self.daemon.ask, "answer", machine=MACHINE, text=text, prompt_id=prompt_id
                )
            case _:
                by_word = {"answer": given.word}
                say = by_word if given.reading_mm is None else {"reading_mm": given.reading_mm}
                await self.phone.answer({"prompt_id": prompt_id, **say})
                await self._closed(prompt_id)
        given.acknowledged = True

    async def _closed(self, prompt_id: str) -> None:
        """By messages, an answer was taken when its prompt is shown no more."""
        async with asyncio.timeout(5):
            while not self._was_closed(prompt_id):
                await asyncio.sleep(0.002)
                assert self.daemon.process is not None
                if self.daemon.process.poll() is not None:
                    raise OSError("it was killed")

    def _was_closed(self, prompt_id: str) -> bool:
        """A later one is shown. (One that is answered very soon may never be shown at all.)"""
        shown = [prompt["prompt_id"] for prompt in self.phone.said("prompt")][-1:]
        return any(one is not None and _order(one) > _order(prompt_id) for one in shown)

    def _see_messages(self) -> None:
        """What arrived just before the end."""
        for given in self.book.given:
            if given.channel == "messages" and self._was_closed(str(given.prompt_id)):
                given.acknowledged = True
        readings = self.phone.said("reading")
        self.book.told |= {one["reading_id"]: one["value_mm"] for one in readings}


def _order(prompt_id: str) -> tuple[int, int]:
    """Grows from prompt to prompt: when it was opened, and its number in its life."""
    _, number, opened_ms = prompt_id.split("-")
    return int(opened_ms, 16), int(number)


@asynccontextmanager
async def at_the_daemon(folder: Path, make: Callable[[Path], Book]) -> AsyncIterator[AtTheDaemon]:
    """A directory for the daemon, a broker, and somebody who listens at it."""
    runtime = Path(tempfile.mkdtemp(prefix="hostctl-"))  # a socket's path must be short
    daemon = Daemon(folder, runtime)
    daemon.write_machine(MACHINE, "sim://workshop-220?seed=7")
    daemon.write_study(TRIALS)
    page = kept_port()
    try:
        with real_broker(folder) as broker:
            settings = f"{{broker: 127.0.0.1, port: {broker.port}}}"
            daemon.write_host(MACHINE, messages=settings, page=f"{{port: {page}}}")
            async with phone_at(broker.port) as phone:
                address = f"http://127.0.0.1:{page}"
                yield AtTheDaemon(daemon, phone, address, make(daemon.database))
    finally:
        daemon.close()
        shutil.rmtree(runtime)


# ------------------------------------------------------------ `hostctl run`


@dataclass
class Alone:
    """`hostctl run`, life by life, from one study on one simulated machine."""

    study: Path
    machine: Path
    book: Book

    async def by_json_lines(self) -> None:
        """A program answers."""
        what = ["resume", str(self.book.run)] if self.book.run else self._run()
        process = await asyncio.create_subprocess_exec(
            *(sys.executable, "-m", "hostctl", *what, "--jsonl"),
            *("--database", str(self.book.database)),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
        )
        assert process.stdin is not None
        assert process.stdout is not None
        last_of_life, asked = self.book.chance.randint(1, MOST_ANSWERS), 0
        async for line in process.stdout:
            said = json.loads(line)
            self._hear(said, first=not asked)
            if said["event"] == "prompt" and asked < last_of_life:
                asked += 1
                given = self.book.say("json-lines", said["kind"], said["trial"], said["prompt_id"])
                with suppress(ConnectionError):
                    process.stdin.write(_as_line(given))
                if asked == last_of_life:
                    later_s = self.book.moment_s(WITHIN_S)
                    asyncio.get_running_loop().call_later(later_s, process.kill)
        await process.wait()
        self.book.check()

    def _hear(self, said: dict[str, Any], *, first: bool) -> None:
        match said["event"]:
            case "prompt" if first:
                self.book.see_it_is_told(said["detail"])
            case "closed" if said["because"].startswith("answered"):
                self.book.given[-1].acknowledged = True
            case "reading":
                self.book.told[said["reading_id"]] = said["value_mm"]

    def _run(self) -> list[str]:
        return ["run", str(self.study), "--machine", str(self.machine)]

    async def at_the_terminal(self) -> None:
        """Somebody at a screen answers."""
        await asyncio.to_thread(self._at_the_terminal)
        self.book.check()

    def _at_the_terminal(self) -> None:
        database, chance = self.book.database, self.book.chance
        terminal = AtTerminal(self.study, self.machine, database, resume=self.book.run)
        asked, last_of_life = terminal.next_question(""), chance.randint(1, MOST_ANSWERS)
        self.book.see_it_is_told(terminal.words_with("Keep a hand at the mains switch"))
        while asked:
            kind = "read" if asked.startswith("Read") else "confirm"
            given = self.book.say("terminal", kind, None, None)
            if len(self.book.given) == last_of_life:
                threading.Timer(self.book.moment_s(WITHIN_S), terminal.run.kill).start()
            with suppress(OSError):
                terminal.press("" if given.reading_mm is None else f"{given.reading_mm:.2f}")
            asked = terminal.next_question(asked)
            given.acknowledged = bool(asked)
        terminal.run.wait(PATIENCE_S)


def _as_line(given: Given) -> bytes:
    by_word: dict[str, object] = {"answer": given.word}
    say = by_word if given.reading_mm is None else {"reading_mm": given.reading_mm}
    return json.dumps({"prompt_id": given.prompt_id, **say}).encode() + b"\n"


# ------------------------------------------------------------ all of them


async def trials(folder: Path, kills: int, seed: int, say: Callable[[str], None]) -> Counter[str]:
    """So many lives, in turns; gives the counts. Raises AssertionError at the first loss."""
    chance, counted = random.Random(seed), Counter[str]()

    def book(database: Path) -> Book:
        return Book(database, chance, counted)

    async with at_the_daemon(folder, book) as daemon:
        files = (daemon.daemon.folder / "studies" / "small.yaml",)
        files += (daemon.daemon.folder / "machines" / f"{MACHINE}.yaml",)
        program = Alone(*files, book(folder / "program.sqlite"))
        person = Alone(*files, book(folder / "person.sqlite"))
        ways = [daemon.life, daemon.life, daemon.life, program.by_json_lines]
        ways.append(person.at_the_terminal)
        for number in range(kills):
            await ways[number % len(ways)]()
            counted["kills"] += 1
            say(f"{number + 1} of {kills}: {counted['acknowledged']} acknowledged, none lost")
    return counted


def main(kills: int, seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        counted = asyncio.run(trials(Path(folder), kills, seed, print))
    print(f"seed {seed}")
    for what, count in sorted(counted.items()):
        print(f"  {count:6} {what}")


if __name__ == "__main__":
    main(*(int(word) for word in (*sys.argv[1:], *(KILLS, SEED)[len(sys.argv) - 1 :])))
