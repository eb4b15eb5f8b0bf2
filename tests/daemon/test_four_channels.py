"""Tried as a new user would: a whole study answered turn by turn from four channels.

A simulated printer on a pseudo-terminal, a real mosquitto, the daemon; answers by number pad,
`mosquitto_pub`, the phone page and the command line, in turns. What is kept equals what the same
people read when the same study is answered in the terminal's way.
"""

import asyncio
import itertools
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from daemon_process import Daemon, Json

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "messages"), str(TESTS / "page")]

from browser_client import browser_at  # noqa: E402  # all found by the path set above
from real_broker import RealBroker, free_port, real_broker  # noqa: E402

from hostctl.store.reading import list_runs, read_record  # noqa: E402
from simulators.hands import RemoteHands  # noqa: E402
from simulators.people import People, Question  # noqa: E402

TRIALS = 2
CHANNELS = ("keys", "messages", "phone page", "command line")


@contextmanager
def printer_at(folder: Path) -> Iterator[tuple[Path, Path]]:
    """Its pseudo-terminal, and the socket for hands."""
    port, hands = folder / "port", folder / "hands"
    command = [sys.executable, "-m", "simulators", "printer", "workshop-220"]
    with subprocess.Popen(
        [*command, "--pty", str(port), "--hands", str(hands)], stdout=subprocess.PIPE, text=True
    ) as printer:
        assert printer.stdout is not None
        try:
            assert printer.stdout.readline().strip() == str(port)
            yield port, hands
        finally:
            printer.terminate()
            printer.communicate()


@dataclass
class FourWays:
    """Somebody who answers in another way each time."""

    daemon: Daemon
    broker: RealBroker
    page_port: int

    def by_keys(self, prompt: Json, text: str) -> None:
        self.daemon.type_keys("bench", "" if text == "done" else text)

    def by_messages(self, prompt: Json, text: str) -> None:
        program = shutil.which("mosquitto_pub")
        assert program is not None
        topic = "hostctl/bench/answer"
        where = ["-h", "127.0.0.1", "-p", str(self.broker.port)]
        subprocess.run([program, *where, "-t", topic, "-m", text], check=True)

    def by_page(self, prompt: Json, text: str) -> None:
        async def post() -> None:
            async with browser_at(f"http://127.0.0.1:{self.page_port}") as browser:
                await browser.enter()
                said: Json = {"machine": "bench", "prompt_id": prompt["prompt_id"]}
                word: Json = (
                    {"word": "done"} if text == "done" else {"word": "reading", "typed": text}
                )
                pressed = {"pressed_at": datetime.now(UTC).timestamp() * 1000}
                status, why = await browser.post("/answer", said | word | pressed)
                assert status == 200, why

        asyncio.run(post())

    def by_command(self, prompt: Json, text: str) -> None:
        done = self.daemon.cli("answer", text)
        assert done.returncode == 0, done.stderr

    def ways(self) -> Iterator[Callable[[Json, str], None]]:
        return itertools.cycle([self.by_keys, self.by_messages, self.by_page, self.by_command])


def answered_in_four_ways(four: FourWays, people: People) -> None:
    ways, last = four.ways(), ""
    while True:
        found = four.daemon.until("bench", lambda f: f["prompt"] or "complete" in str(f["notice"]))
        prompt = found["prompt"]
        if not isinstance(prompt, dict):
            return
        if prompt["prompt_id"] == last:
            time.sleep(0.05)  # on its way
            continue
        last = prompt["prompt_id"]
        said = people.answer(Question.from_json(prompt))
        time.sleep(0.6)  # as a person looks before answering; sooner does not count
        next(ways)(prompt, "done" if said.reading_mm is None else f"{said.reading_mm:.2f}")


def in_the_terminal(
    machine: Path, study: Path, hands: Path, database: Path
) -> "subprocess.Popen[bytes]":
    """The same people, asked by `hostctl run`."""
    people = [sys.executable, "-m", "simulators", "people", "--hands", str(hands), "--quiet", "--"]
    run = [sys.executable, "-m", "hostctl", "run", str(study), "--machine", str(machine)]
    return subprocess.Popen([*people, *run, "--database", str(database), "--jsonl"])


def kept(database: Path) -> list[tuple[int, float, bool]]:
    (run,) = list_runs(database)
    assert run.complete
    readings = [stored.kept for stored in read_record(database, run.run).readings]
    return [(kept.place.trial, kept.reading.value_mm, kept.is_zero) for kept in readings]


@pytest.mark.slow
@pytest.mark.broker
@pytest.mark.timeout(120)
def test_a_study_answered_from_four_channels_gives_what_the_terminal_gives(
    daemon: Daemon, tmp_path: Path
):
    daemon.write_study(TRIALS)
    study = daemon.folder / "studies" / "small.yaml"
    study.write_text(study.read_text().replace("countdown_s: 0", "countdown_s: 1"))
    (tmp_path / "other").mkdir()
    page_port = free_port()
    with (
        real_broker(tmp_path) as broker,
        printer_at(tmp_path) as (port, hands),
        printer_at(tmp_path / "other") as (other_port, other_hands),
    ):
        database = tmp_path / "terminal.sqlite"
        other = tmp_path / "other.yaml"
        daemon.write_machine("bench", str(other_port))
        shutil.move(daemon.folder / "machines" / "bench.yaml", other)
        terminal = in_the_terminal(other, study, other_hands, database)
        daemon.write_machine("bench", str(port))
        daemon.write_host(
            "bench",
            messages=f"{{broker: 127.0.0.1, port: {broker.port}}}",
            page=f"{{port: {page_port}}}",
        )
        daemon.start()
        daemon.start_run("bench", study="small")
        with closing(RemoteHands(hands)) as both_hands:
            answered_in_four_ways(FourWays(daemon, broker, page_port), People(both_hands))
        assert terminal.wait(60) == 0
    in_four_ways = kept(daemon.database)
    assert len(in_four_ways) == TRIALS + 1
    assert in_four_ways == kept(database)
    assert all(f'because="answered on {name}"' in daemon.log for name in CHANNELS)
