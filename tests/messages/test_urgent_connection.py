"""A stop or hold is heard at once, whatever else comes in, however busy the computer is."""

import asyncio
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from aiomqtt import Message
from at_the_station import TREE, AtTheStation, Phone, now, running, station_served, until
from flood_source import packet, pour
from halted_machine import HaltedMachine
from real_broker import RealBroker

from hostctl.channels.messages.arriving.reception import AGAIN_S, EMPTY, Reception
from hostctl.channels.messages.channel import URGENT_S
from hostctl.channels.messages.connection.broker import Broker, subscribe
from hostctl.channels.messages.connection.client_ids import FILE_NAME, ClientIds
from hostctl.channels.messages.topics import Topics
from hostctl.config.host import Messages
from hostctl.run.station import Station


@pytest.fixture
def settings(broker: RealBroker) -> Messages:
    """One real broker is enough here."""
    return Messages(broker="127.0.0.1", port=broker.port)


TOPICS = Topics("workshop-220")
EITHER = pytest.mark.parametrize("topic", ["stop", "hold"])


def noted(at: AtTheStation) -> list[str]:
    """What comes of what is sent, from now on: `stop` and `hold`, by the topics' names."""
    done: list[str] = []
    at.station.machine = HaltedMachine(lambda _: done.append("stop"))
    at.station.desk.on_stop.add(lambda answer: done.append(answer.word))
    at.tell(running())
    return done


@pytest.fixture
async def done(at: AtTheStation) -> list[str]:
    """Each halt and hold; the urgent connection is up."""
    done = noted(at)
    await until(lambda: at.channel.urgent.hears)
    return done


@pytest.mark.broker
@pytest.mark.parametrize(
    "payload", ["stop", " ", "0", "STOP!", {"command": "hold"}, b"\xff", b"x" * 5000]
)
@EITHER
async def test_whatever_comes_in_halts_or_holds(done, phone, topic, payload):
    await phone.send(topic, payload)
    await until(lambda: done == [topic])


@pytest.mark.broker
async def test_that_the_machine_was_told_to_halt_is_told(done, phone):
    await phone.send("stop", "stop")
    await until(lambda: "halted" in [event["event"] for event in phone.said("event")])


@pytest.mark.broker
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
@EITHER
async def test_what_the_broker_kept_does_nothing_nor_does_clearing_it(
    broker, phone, tmp_path, protocol, topic
):
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    await phone.send(topic, "now", retain=True)
    async with station_served(tmp_path, settings) as at:
        done = noted(at)
        await until(lambda: phone.refusals() != [])
        assert "kept by the broker" in phone.refusals()[0]
        await phone.send(topic, "", retain=True)
        await until(lambda: f"Not taken: {EMPTY}" in phone.refusals())
        assert done == []
        await phone.send(topic, "now", retain=True)  # it is fresh for those who are there
        await until(lambda: done == [topic])


@pytest.mark.broker
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
@pytest.mark.parametrize("retain", [False, True])
@EITHER
async def test_what_comes_in_is_taken_elsewhere_while_the_urgent_line_is_down(
    broker, phone, tmp_path, protocol, retain, topic
):
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    async with station_served(tmp_path, settings) as at:
        done = noted(at)
        await until(lambda: bool(phone.said("event")))
        at.hearing.cancel()
        await until(at.hearing.done)
        await phone.send(topic, "", retain=True)
        await until(lambda: phone.refusals() == [f"Not taken: {EMPTY}"])
        await phone.send(topic, "now", retain=retain)
        await until(lambda: done == [topic])


@pytest.mark.broker
@EITHER
async def test_what_comes_in_is_taken_elsewhere_while_the_urgent_line_only_seems_to_hear(
    at, done, phone, topic
):
    """As when its connection is half dead and nobody has noticed yet."""
    at.hearing.cancel()
    await until(at.hearing.done)
    at.channel.urgent.hears = True
    await phone.send(topic, "")
    await phone.send(topic, "now")
    await until(lambda: done == [topic])


@pytest.mark.broker
@EITHER
async def test_what_comes_in_twice_acts_once_and_is_not_refused(at, done, phone, topic):
    await phone.send(topic, "now")
    await until(lambda: done == [topic])
    await asyncio.sleep(2 * URGENT_S)
    assert (done, phone.refusals()) == ([topic], [])


@pytest.mark.broker
async def test_looking_whether_the_topics_are_allowed_does_nothing(at, done, phone):
    at.serving.cancel()
    await until(lambda: phone.plain("online")[-1:] == [b"offline"])
    phone.seen.clear()
    await at.serve_again()
    await until(lambda: len(phone.plain("stop")) == len(phone.plain("hold")) == 1)
    await phone.send("answer", "done")  # refused after the look was read on either connection
    await until(lambda: phone.refusals() != [])
    assert done == []


@asynccontextmanager
async def busy_computer() -> AsyncIterator[None]:
    """It leaves us one turn in 20 ms."""

    async def work() -> None:
        while True:
            time.sleep(0.02)  # noqa: ASYNC251 - so that nothing else gets a turn
            await asyncio.sleep(0)

    working = asyncio.ensure_future(work())
    try:
        yield
    finally:
        working.cancel()


@pytest.mark.broker
@pytest.mark.slow
@pytest.mark.parametrize("qos", [0, 1])
@pytest.mark.parametrize("flooded", ["answer", "command", "stray"])
@EITHER
async def test_a_stop_and_a_hold_are_heard_in_a_flood_on_a_busy_computer(
    at: AtTheStation,
    done: list[str],
    phone: Phone,
    settings: Messages,
    flooded: str,
    qos: int,
    topic: str,
):
    await phone.client.unsubscribe("hostctl/#")  # it need not bear the flood too
    old = packet(f"{TREE}/{flooded}", b'{"prompt_id":"0-1","answer":"done"}', qos)
    refused: list[object] = []
    at.station.desk.on_refusal.add(refused.append)
    async with busy_computer(), asyncio.TaskGroup() as tasks:
        flood = tasks.create_task(pour(settings.port, [old], 600))
        await until(lambda: bool(refused))
        await phone.send(topic, topic)
        await until(lambda: done == [topic])
        flood.cancel()


@pytest.mark.broker
@pytest.mark.parametrize("payload", [b"", b"access-check 0123456789abcdef"])
@EITHER
async def test_so_many_of_what_is_no_stop_that_one_may_be_lost_among_them_halt(
    done, phone, settings, payload, topic
):
    await phone.send(topic, payload)
    await phone.send("answer", "nothing")
    await until(lambda: "nothing is asked now" in " ".join(phone.refusals()))
    assert done == []
    async with asyncio.TaskGroup() as tasks:
        flood = tasks.create_task(pour(settings.port, [packet(f"{TREE}/{topic}", payload)], 600))
        await until(lambda: "stop" in done)
        flood.cancel()


@pytest.mark.broker
async def test_so_many_holds_that_a_stop_may_be_lost_among_them_halt(done, settings):
    async with asyncio.TaskGroup() as tasks:
        flood = tasks.create_task(pour(settings.port, [packet(f"{TREE}/hold", b"hold")], 600))
        await until(lambda: "stop" in done)
        flood.cancel()


@pytest.mark.parametrize(
    ("at_s", "times"),
    [([0.0], 1), ([0.0, AGAIN_S / 2], 1), ([0.0, AGAIN_S], 2), ([0.0] * 1000, 1)],
)
def test_many_stops_at_once_are_one(at_s, times):
    halts: list[str] = []
    station = Station("workshop-220", now=now, studies=list)
    station.machine = HaltedMachine(halts.append)
    reception = Reception(
        station, TOPICS, now=now, shown=lambda: None, tell=lambda kind, text: None
    )
    for moment_s in at_s:
        reception.take_urgent(TOPICS.stop, b"stop", kept=False, at_s=moment_s)
    assert len(halts) == times


@pytest.mark.broker
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_what_is_sent_to_us_is_sent_again_until_we_have_it(
    broker: RealBroker, phone: Phone, tmp_path: Path, protocol: str
):
    """At QoS 1; the broker gives the lesser of what was sent and what was asked for."""
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    heard: list[Message] = []
    ours = Broker(settings, ClientIds(tmp_path / FILE_NAME, pytest.fail), "one")
    async with ours.client(heard.append) as client:
        await subscribe(client, f"{TREE}/answer", as_sent=protocol == "5")
        for qos in (2, 1, 0):
            await phone.client.publish(f"{TREE}/answer", "done", qos=qos)
        await until(lambda: len(heard) == 3)
    assert sorted(message.qos for message in heard) == [0, 1, 1]
