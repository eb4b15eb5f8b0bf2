"""Killed with `kill -9` again and again, with a broker up and messages on.

A simulated printer on a pseudo-terminal, a real mosquitto and the daemon as a process of its own.
Somebody with a phone answers by messages and keeps what is published. Whenever the daemon dies,
nothing acknowledged is lost, no reading is kept or told twice, and the run goes on.
"""

import asyncio
import itertools
import random
import signal
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from daemon_process import Daemon

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "messages"), str(TESTS / "benchmarks")]

from at_the_station import MACHINE, Phone, phone_at, until  # noqa: E402  # by the path set above
from bench_soak import PROBING  # noqa: E402
from real_broker import RealBroker, real_broker  # noqa: E402
from simulated_printer import printer_at  # noqa: E402

from hostctl.channels.messages.schemas import FOLDER  # noqa: E402
from hostctl.store.reading import list_runs, read_record  # noqa: E402
from hostctl.store.rows import StoredReading  # noqa: E402

SEED = 20261125
AT_MOST_S = (0.0, 0.02)
"""How long after an answer it is killed at most, life by life: from before the reading is taken
until after it is published."""
TOO_MANY = 5000
"""So that the loop, which waits for nobody, is never done before it is killed."""
BY_HAND = """\
study: small
title: Nothing adjusted
kind: rig-check
points: [front-left]
trials: 2
cycle: {settle_s: 0, countdown_s: 1, turn_away: null}
"""


class Operator:
    """Answers each prompt once, by its id; no two readings are alike."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._answered: set[str] = set()
        self._values_mm = (round(0.01 * number, 2) for number in itertools.count(1))

    async def answer_until(self, readings: int) -> None:
        """Until so many readings were given."""
        while readings:
            await until(lambda: self._open() is not None)
            prompt = self._take()
            reads = prompt["kind"] == "read"
            said = {"reading_mm": next(self._values_mm)} if reads else {"answer": "done"}
            await self._phone.answer({"prompt_id": prompt["prompt_id"], **said})
            readings -= reads

    def _take(self) -> dict[str, Any]:
        prompt = self._open()
        assert prompt is not None
        self._answered.add(prompt["prompt_id"])
        return prompt

    async def confirm(self) -> None:
        """Say that the bed is clear, once that is asked."""
        await until(lambda: self._open() is not None)
        await self._phone.answer({"prompt_id": self._take()["prompt_id"], "answer": "done"})

    def _open(self) -> dict[str, Any] | None:
        prompt = self._phone.said("prompt")[-1]
        new = prompt["prompt_id"] is not None and prompt["prompt_id"] not in self._answered
        return prompt if new else None


def finished(phone: Phone) -> list[dict[str, Any]]:
    return [event for event in phone.said("event") if event["event"] == "finished"]


@dataclass
class Lives:
    """The lives of one daemon, and somebody who looks on all the time."""

    daemon: Daemon
    broker: RealBroker
    phone: Phone
    operator: Operator

    async def begin(self, **what: object) -> None:
        await asyncio.to_thread(self.daemon.start)
        await asyncio.to_thread(self.daemon.start_run, MACHINE, **what)

    async def tells(self, more: int) -> None:
        """Wait until it has told so many more readings."""
        wanted = len(self.phone.said("reading")) + more
        await until(lambda: len(self.phone.said("reading")) >= wanted)

    async def untold_readings(self, count: int) -> None:
        """Stop the broker for a while, until so many readings wait for it."""
        self.broker.freeze(signal.SIGSTOP)
        wanted = len(self.kept()) + count
        await until(lambda: len(self.kept()) >= wanted)

    async def kill(self) -> None:
        """All that was acknowledged is on the disk, as it was told."""
        told = {one["reading_id"]: one["value_mm"] for one in self.phone.said("reading")}
        await asyncio.to_thread(self.daemon.end, signal.SIGKILL)
        self.broker.freeze(signal.SIGCONT)
        on_disk = {one.reading_id: one.kept.reading.value_mm for one in self.kept()}
        assert told.items() <= on_disk.items()

    async def finish(self) -> None:
        """The run is over; all that is on the disk was told, in order, each reading once."""
        await until(lambda: bool(finished(self.phone)))
        readings = self.kept()
        await until(lambda: self._told()[-1:] == [readings[-1].reading_id])
        assert self._told() == [one.reading_id for one in readings]
        places = [one.kept.place for one in readings if not one.void]
        assert len({(place.round, place.trial) for place in places}) == len(places)
        assert await asyncio.to_thread(self.daemon.end) == 0

    def kept(self) -> list[StoredReading]:
        return list(read_record(self.daemon.database, 1).readings)

    def _told(self) -> list[int]:
        """The readings told, as they first came; a repetition, which keeps its id, is the same."""
        told = self.phone.said("reading")
        first = {one["id"]: one for one in reversed(told)}
        assert all(first[one["id"]] == one for one in told)
        assert len({one["reading_id"] for one in told}) == len(first)
        return list(dict.fromkeys(one["reading_id"] for one in told))


@asynccontextmanager
async def lives_of(
    daemon: Daemon, tmp_path: Path, machine: str, study: str
) -> AsyncIterator[Lives]:
    """With a printer and a broker that outlive it."""
    (daemon.folder / "studies" / "small.yaml").write_text(study)
    with printer_at(tmp_path, machine) as (port, _), real_broker(tmp_path) as broker:
        daemon.write_machine(MACHINE, str(port), like=machine.replace("workshop", "sim"))
        settings = f"{{broker: 127.0.0.1, port: {broker.port}}}"
        daemon.write_host(MACHINE, messages=settings)
        async with phone_at(broker.port) as phone:
            lives = Lives(daemon, broker, phone, Operator(phone))
            await lives.begin(study="small")
            await until(lambda: bool(phone.said("prompt")))
            yield lives


@pytest.mark.slow
@pytest.mark.broker
@pytest.mark.timeout(180)
async def test_killed_while_somebody_answers_it_loses_no_reading_and_tells_each_once(
    daemon: Daemon, tmp_path: Path
):
    chance = random.Random(SEED)
    async with lives_of(daemon, tmp_path, "workshop-220", BY_HAND) as lives:
        for at_most_s in AT_MOST_S:
            await lives.operator.answer_until(readings=1)
            await asyncio.sleep(chance.uniform(0, at_most_s))
            await lives.kill()
            await lives.begin(resume=1)
        await lives.operator.answer_until(readings=2)
        await lives.finish()
    assert list_runs(daemon.database)[0].complete
    assert f"schemas={FOLDER}" in daemon.log  # where who writes a client finds them


@pytest.mark.slow
@pytest.mark.broker
@pytest.mark.timeout(180)
async def test_killed_amid_a_probe_loop_it_loses_no_reading_and_tells_each_once(
    daemon: Daemon, tmp_path: Path
):
    chance = random.Random(SEED)
    async with lives_of(daemon, tmp_path, "workshop-tri", PROBING.format(trials=TOO_MANY)) as lives:
        for broker_is_slow in (False, True, False):
            await lives.operator.confirm()
            await lives.tells(chance.randint(1, 9))
            if broker_is_slow:
                await lives.untold_readings(chance.randint(2, 5))
            await asyncio.sleep(chance.uniform(0, 0.02))
            await lives.kill()
            await lives.begin(resume=1)
        await lives.operator.confirm()
        await lives.tells(1)
        await lives.phone.answer({"answer": "end"})
        await lives.finish()
