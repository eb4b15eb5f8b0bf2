"""Tried as a new user would: a whole study answered turn by turn from four channels.

A simulated printer on a pseudo-terminal, a real mosquitto, the daemon; answers by number pad,
`mosquitto_pub`, the phone page in Chromium and the command line, in turns. What is kept equals what
the same people read when the same study is answered in the terminal.
"""

import asyncio
import itertools
import shutil
import sys
from collections.abc import Awaitable, Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest
from at_a_terminal import AtTerminal
from daemon_process import Daemon, Json
from simulated_printer import printer_at

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "messages"), str(TESTS / "page")]

from chromium import Chromium, Phone, chromium_or_skip  # noqa: E402  # all by the path set above
from hostctl_simulators.people.hands import RemoteHands  # noqa: E402
from hostctl_simulators.people.people import People, Question  # noqa: E402
from kept_port import kept_port  # noqa: E402
from real_broker import RealBroker, real_broker  # noqa: E402

from hostctl.store.reading import list_runs, read_record  # noqa: E402
from hostctl.store.rows import NewReading  # noqa: E402

TRIALS = 4  # each channel then gives one reading
CHANNELS = ("keys", "messages", "phone page", "command line")
PAD = "123456789±0."
Way = Callable[[str, str], Awaitable[None]]


@dataclass
class FourWays:
    """Somebody who answers in another way each time."""

    daemon: Daemon
    broker: RealBroker
    phone: Phone

    async def by_keys(self, prompt_id: str, text: str) -> None:
        self.daemon.type_keys("bench", "" if text == "done" else text)

    async def by_messages(self, prompt_id: str, text: str) -> None:
        program = shutil.which("mosquitto_pub")
        assert program is not None
        where = ["-h", "127.0.0.1", "-p", str(self.broker.port), "-t", "hostctl/bench/answer"]
        await run(program, *where, "-m", text)

    async def by_page(self, prompt_id: str, text: str) -> None:
        await self.phone.until(
            f"document.body.dataset.prompt === '{prompt_id}'"
            " && document.body.dataset.settled === 'true'"
        )
        for sign in "" if text == "done" else text.replace("-", "±"):
            await self.phone.press(f"#pad button:nth-child({PAD.index(sign) + 1})")
        await self.phone.press("#done")

    async def by_command(self, prompt_id: str, text: str) -> None:
        while (done := await asyncio.to_thread(self.daemon.cli, "answer", text)).returncode:
            assert "only just appeared" in done.stderr

    async def _answered(self, way: Way, prompt_id: str, text: str) -> None:
        """Until it is taken: who was too soon looks, and answers again."""
        refused = self._refusals()
        await way(prompt_id, text)
        while (await self.asked())["prompt_id"] == prompt_id:
            await asyncio.sleep(0.05)
            if self._refusals() > refused:
                refused = self._refusals()
                await asyncio.sleep(0.5)
                await way(prompt_id, text)

    def _refusals(self) -> int:
        return self.daemon.log.count("event=refused machine=bench channel=messages")

    async def asked(self) -> Json:
        """The open prompt, once there is one; without an id when the run is over."""

        def look() -> Json:
            found = self.daemon.until(
                "bench", lambda found: found["prompt"] or "complete" in str(found["notice"])
            )
            prompt = found["prompt"]
            return prompt if isinstance(prompt, dict) else {"prompt_id": None}

        return await asyncio.to_thread(look)

    async def answer_all(self, people: People) -> None:
        ways: Iterator[Way] = itertools.cycle(
            [self.by_keys, self.by_messages, self.by_page, self.by_command]
        )
        while (prompt := await self.asked())["prompt_id"] is not None:
            said, way = people.answer(Question.from_json(prompt)), next(ways)
            text = "done" if said.reading_mm is None else f"{said.reading_mm:.2f}"
            await self._answered(way, str(prompt["prompt_id"]), text)


async def run(*command: str) -> None:
    process = await asyncio.create_subprocess_exec(*command)
    assert await process.wait() == 0


def in_the_terminal(machine: Path, study: Path, hands: Path, database: Path) -> int:
    """The same people, asked by `hostctl run` on a terminal; its exit code."""
    with closing(RemoteHands(hands)) as both_hands:
        return AtTerminal(study, machine, database).answer_all(People(both_hands))


def kept(database: Path) -> list[NewReading]:
    (run,) = list_runs(database)
    assert run.complete
    return [stored.kept for stored in read_record(database, run.run).readings]


def values(readings: list[NewReading]) -> list[tuple[int, float, bool]]:
    return [(one.place.trial, one.reading.value_mm, one.is_zero) for one in readings]


@pytest.fixture
def chromium(tmp_path: Path) -> Iterator[Chromium]:
    with closing(Chromium(chromium_or_skip(), tmp_path / "chromium")) as browser:
        yield browser


@pytest.mark.slow
@pytest.mark.broker
@pytest.mark.browser
@pytest.mark.timeout(300)  # a busy computer takes a minute or more
async def test_a_study_answered_from_four_channels_gives_what_the_terminal_gives(
    daemon: Daemon, chromium: Chromium, tmp_path: Path
):
    daemon.write_study(TRIALS)
    study = daemon.folder / "studies" / "small.yaml"
    study.write_text(study.read_text().replace("countdown_s: 0", "countdown_s: 1"))
    (tmp_path / "other").mkdir()
    page_port = kept_port()
    with (
        real_broker(tmp_path) as broker,
        printer_at(tmp_path) as (port, hands),
        printer_at(tmp_path / "other") as (other_port, other_hands),
    ):
        database = tmp_path / "terminal.sqlite"
        other = tmp_path / "other.yaml"
        daemon.write_machine("bench", str(other_port))
        shutil.move(daemon.folder / "machines" / "bench.yaml", other)
        terminal = asyncio.create_task(
            asyncio.to_thread(in_the_terminal, other, study, other_hands, database)
        )
        daemon.write_machine("bench", str(port))
        daemon.write_host(
            "bench",
            messages=f"{{broker: 127.0.0.1, port: {broker.port}}}",
            page=f"{{port: {page_port}}}",
        )
        await asyncio.to_thread(daemon.start)
        await asyncio.to_thread(daemon.start_run, "bench", study="small")
        async with chromium.phones() as phones:
            phone = await phones.open(f"http://127.0.0.1:{page_port}")
            with closing(RemoteHands(hands)) as both_hands:
                await FourWays(daemon, broker, phone).answer_all(People(both_hands))
            await phone.shows("is complete")
            assert phone.complaints() == []
        assert await terminal == 0
    in_four_ways = kept(daemon.database)
    assert values(in_four_ways) == values(kept(database))
    assert sorted(one.channel for one in in_four_ways if not one.is_zero) == sorted(CHANNELS)
