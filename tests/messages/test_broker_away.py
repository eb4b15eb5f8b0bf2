"""The broker goes and comes back: the run goes on, and what it said comes after, in order, once."""

import asyncio
import json
import signal
import sqlite3
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, closing
from pathlib import Path

import pytest
from at_the_station import (
    MACHINE,
    TREE,
    AtTheStation,
    a_reading,
    a_run,
    phone_at,
    place,
    prompt,
    running,
    station_served,
    until,
)
from real_broker import RealBroker
from wireless import Wireless

from hostctl.channels.messages.arriving import reception
from hostctl.channels.messages.connection.access import BACK_WITHIN_S
from hostctl.config.host import Messages
from hostctl.news import HoldBegan, HoldLifted, TrialMarked, Word
from hostctl.store.outbox import NewMessage
from hostctl.store.store import Store

pytestmark = [pytest.mark.broker, pytest.mark.slow]


@pytest.fixture
def settings(broker: RealBroker) -> Messages:
    return Messages(broker="127.0.0.1", port=broker.port)


@asynccontextmanager
async def afar(folder: Path, broker: RealBroker) -> AsyncIterator[tuple[AtTheStation, Wireless]]:
    """A station whose way to the broker is cut until a phone is there, which then misses none."""
    wireless = Wireless(broker.port)
    async with wireless.on_the_air() as port:
        settings = Messages(broker="127.0.0.1", port=port, most_waiting=100)
        async with station_served(folder, settings) as at:
            yield at, wireless


async def test_what_was_said_meanwhile_comes_after_in_order_and_once(broker, tmp_path):
    async with afar(tmp_path, broker) as (at, wireless):
        async with phone_at(broker.port) as before:
            await until(lambda: bool(before.said("event")) and at.outbox.waiting == 0)
        broker.kill()
        wireless.cut()
        await until(at.is_away)
        for trial in range(2, 7):
            await at.keep(a_reading(trial / 100, trial=trial))
        at.tell(running(), HoldBegan(reason="asked for"), HoldLifted(channel="page"))
        await until(lambda: at.outbox.waiting == 8)
        broker.start()
        async with phone_at(broker.port) as phone:
            wireless.mend()
            await until(lambda: len(phone.said("event")) == 4)
            await until(lambda: at.outbox.waiting == 0)
            readings = phone.said("reading")
            assert [one["value_mm"] for one in readings] == [0.02, 0.03, 0.04, 0.05, 0.06]
            order = [event["event"] for event in phone.said("event")]
            assert order == ["started", "hold", "hold-lifted", "connected"]


async def test_a_killed_and_restarted_broker_is_found_again_each_time(broker, settings, tmp_path):
    async with station_served(tmp_path, settings) as at:
        for attempt in range(1, 4):
            async with phone_at(broker.port) as phone:
                asked = at.ask(prompt(f"1-{attempt}"))
                await until(phone.shows(f"1-{attempt}"))
                await phone.answer({"prompt_id": f"1-{attempt}", "answer": "done"})
                assert (await asked).word is Word.DONE
                broker.kill()
                await until(at.is_away)
            broker.start()
            await until(at.is_connected)


async def test_a_connection_lost_after_it_has_settled_is_made_again(broker, settings, tmp_path):
    async with station_served(tmp_path, settings) as at:
        await until(at.is_connected)
        await asyncio.sleep(BACK_WITHIN_S + 0.3)  # the look for denials is over
        broker.kill()
        await until(at.is_away)
        lost = f"the connection to the broker 127.0.0.1:{broker.port} was lost"
        assert at.said[1] == f"{lost}; messages wait until it is mended"
        broker.start()
        await until(at.is_connected)
        assert not at.serving.done()


async def test_a_message_the_broker_did_not_confirm_comes_again_with_its_id(broker, tmp_path):
    """The broker stops answering while a reading is under way; then it dies."""
    async with afar(tmp_path, broker) as (at, wireless):
        await until(lambda: at.outbox.waiting == 0 and at.is_connected())
        broker.freeze(signal.SIGSTOP)
        await at.keep(a_reading(0.02))
        await until(at.is_away)  # it gave up waiting for the confirmation
        wireless.cut()
        broker.kill()
        broker.start()
        async with phone_at(broker.port) as phone:
            wireless.mend()
            await until(lambda: bool(phone.said("reading")))
            assert {one["id"] for one in phone.said("reading")} == {f"{MACHINE}-reading-1"}


async def test_the_run_is_answered_elsewhere_while_the_broker_is_away(broker, settings, tmp_path):
    broker.kill()
    async with station_served(tmp_path, settings) as at:
        asked = at.ask(prompt("1-1"))
        await until(lambda: bool(at.said))
        at.station.desk.answer(elsewhere("1-1"))
        assert (await asked).channel == "page"
        assert at.said == [
            f"the broker 127.0.0.1:{broker.port} can't be reached ([Errno 111] "
            "Connection refused); messages wait until it is mended"
        ]


async def test_a_phone_that_slept_through_a_prompt_does_not_answer_the_next(
    broker, settings, tmp_path, monkeypatch
):
    """While the broker is away nobody was shown the prompt, so no plain word is meant for it."""
    monkeypatch.setattr(reception, "SHOWN_AT_LEAST_S", 3600)  # however slow this computer is
    async with station_served(tmp_path, settings) as at:
        await until(at.is_connected)
        broker.kill()
        await until(at.is_away)
        asked = at.ask(prompt("1-1"))
        broker.start()
        async with phone_at(broker.port) as phone:
            await until(phone.shows("1-1"))
            await phone.answer("done")
            await until(lambda: bool(phone.refusals()))
            assert not asked.done()


async def test_a_killed_daemon_is_told_offline_by_the_broker(broker, settings, tmp_path):
    async with phone_at(broker.port) as phone, station_served(tmp_path, settings) as at:
        await until(lambda: phone.plain("online") == [b"online"])
        broker.freeze(signal.SIGSTOP)
        at.serving.cancel()  # its goodbye is not heard
        await until(at.serving.done)
        broker.freeze(signal.SIGCONT)
        await until(lambda: phone.plain("online")[-1:] == [b"offline"])


async def test_readings_stored_just_before_a_crash_are_told_after_it(broker, settings, tmp_path):
    async with Store.opened(tmp_path / "hostctl.sqlite") as store:
        await store.add_run(a_run())
        told = await store.add_reading(a_reading(0.01, trial=1))
        outbox = await store.outbox(MACHINE, most_waiting=100)
        waiting = NewMessage(message_id="x", topic=f"{TREE}/reading", payload="{}")
        await outbox.add(
            NewMessage(
                message_id=f"{MACHINE}-reading-1",
                topic=waiting.topic,
                payload=waiting.payload,
                reading_id=told.reading_id,
            )
        )
        await store.add_reading(a_reading(0.02, trial=2))  # and here the program died
    async with phone_at(broker.port) as phone, station_served(tmp_path, settings):
        await until(lambda: len(phone.said("reading")) == 2)
        assert phone.said("reading")[1]["value_mm"] == 0.02


async def test_more_than_may_wait_drops_the_oldest_but_no_reading(broker, tmp_path):
    broker.kill()
    async with afar(tmp_path, broker) as (at, wireless):
        wireless.cut()
        await at.keep(a_reading(0.02))
        for number in range(150):
            at.tell(TrialMarked(place=place(), mark="skipped", reason=f"number {number}"))
        await until(lambda: at.outbox.waiting == 100 and last_kept(tmp_path).endswith("149"))
        broker.start()
        async with phone_at(broker.port) as phone:
            wireless.mend()
            await until(lambda: "dropped" in [event["event"] for event in phone.said("event")])
            assert [one["value_mm"] for one in phone.said("reading")] == [0.02]
            texts = [event["text"] for event in phone.said("event")]
            numbers = [int(text.split()[-1]) for text in texts if "number" in text]
            assert 90 <= len(numbers) < 100
            assert numbers == list(range(150 - len(numbers), 150))
            assert any("oldest are dropped, readings last" in said for said in at.said)


def last_kept(folder: Path) -> str:
    with closing(sqlite3.connect(folder / "hostctl.sqlite")) as database:
        ((payload,),) = database.execute("SELECT payload FROM outbox ORDER BY seq DESC LIMIT 1")
        return str(json.loads(payload)["text"])


def elsewhere(prompt_id: str):
    from at_the_station import now

    from hostctl.news import Answer

    return Answer(prompt_id=prompt_id, word=Word.DONE, channel="page", given_at=now())
