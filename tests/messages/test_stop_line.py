"""A stop is heard at once, whatever else comes in, and however busy the computer is."""

import asyncio
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from aiomqtt import Message
from at_the_station import TREE, AtTheStation, Phone, now, running, station_served, until
from flood_source import packet, pour
from real_broker import RealBroker

from hostctl.channels.messages.broker import Broker, subscribe
from hostctl.channels.messages.channel import STOP_LINE_S
from hostctl.channels.messages.client_ids import FILE_NAME, ClientIds
from hostctl.channels.messages.reception import HALT_AGAIN_S, Reception
from hostctl.channels.messages.topics import Topics
from hostctl.config.host import Messages
from hostctl.run.station import Station


@pytest.fixture
def settings(broker: RealBroker) -> Messages:
    """One real broker is enough here."""
    return Messages(broker="127.0.0.1", port=broker.port)


@pytest.fixture
async def halts(at: AtTheStation) -> list[str]:
    """By whom the machine was halted; the stop line is up."""
    halts: list[str] = []
    at.station.on_halt(halts.append)
    at.tell(running())
    await until(lambda: at.channel.stop_line.hears)
    return halts


@pytest.mark.broker
@pytest.mark.parametrize(
    "payload", ["stop", " ", "0", "STOP!", {"command": "hold"}, b"\xff", b"x" * 5000]
)
async def test_whatever_comes_in_on_the_stop_topic_halts(halts, phone, payload):
    await phone.send("stop", payload)
    await until(lambda: halts == ["messages"])
    await until(lambda: "halted" in [event["event"] for event in phone.said("event")])


@pytest.mark.broker
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_a_stop_that_the_broker_kept_halts_nothing_nor_does_clearing_it(
    broker, phone, tmp_path, protocol
):
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    await phone.send("stop", "stop", retain=True)
    async with station_served(tmp_path, settings) as at:
        halts: list[str] = []
        at.station.on_halt(halts.append)
        await until(lambda: phone.refusals() != [])
        assert "kept by the broker" in phone.refusals()[0]
        await phone.send("stop", "", retain=True)
        await until(lambda: "Not taken: an empty message is no stop" in phone.refusals())
        assert halts == []
        await phone.send("stop", "stop", retain=True)  # it is fresh for those who are there
        await until(lambda: halts == ["messages"])


@pytest.mark.broker
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
@pytest.mark.parametrize("retain", [False, True])
async def test_a_stop_is_taken_elsewhere_while_the_stop_line_is_down(
    broker, phone, tmp_path, protocol, retain
):
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    async with station_served(tmp_path, settings) as at:
        halts: list[str] = []
        at.station.on_halt(halts.append)
        await until(lambda: bool(phone.said("event")))
        at.hearing.cancel()
        await until(at.hearing.done)
        await phone.send("stop", "", retain=True)
        await until(lambda: phone.refusals() == ["Not taken: an empty message is no stop"])
        await phone.send("stop", "stop", retain=retain)
        await until(lambda: halts == ["messages"])


@pytest.mark.broker
async def test_a_stop_is_taken_elsewhere_while_the_stop_line_only_seems_to_hear(at, halts, phone):
    """As when its connection is half dead and nobody has noticed yet."""
    at.hearing.cancel()
    await until(at.hearing.done)
    at.channel.stop_line.hears = True
    await phone.send("stop", "")
    await phone.send("stop", "stop")
    await until(lambda: halts == ["messages"])


@pytest.mark.broker
async def test_a_stop_that_comes_in_twice_halts_once_and_is_not_refused(at, halts, phone):
    await phone.send("stop", "stop")
    await until(lambda: halts == ["messages"])
    await asyncio.sleep(2 * STOP_LINE_S)
    assert (halts, phone.refusals()) == (["messages"], [])


@pytest.mark.broker
async def test_looking_whether_the_topic_is_allowed_halts_nothing(at, halts, phone):
    at.serving.cancel()
    await until(lambda: phone.plain("online")[-1:] == [b"offline"])
    phone.seen.clear()
    await at.serve_again()
    await until(lambda: len(phone.plain("stop")) == 1)
    await phone.send("answer", "done")  # refused after the look was read on either connection
    await until(lambda: phone.refusals() != [])
    assert halts == []


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
@pytest.mark.parametrize("topic", ["answer", "command", "stray"])
async def test_a_stop_is_heard_in_a_flood_on_a_busy_computer(
    at: AtTheStation, halts: list[str], phone: Phone, settings: Messages, topic: str, qos: int
):
    await phone.client.unsubscribe("hostctl/#")  # it need not bear the flood too
    old = packet(f"{TREE}/{topic}", b'{"prompt_id":"0-1","answer":"done"}', qos)
    refused: list[object] = []
    at.station.desk.on_refusal(refused.append)
    async with busy_computer(), asyncio.TaskGroup() as tasks:
        flood = tasks.create_task(pour(settings.port, [old], 600))
        await until(lambda: bool(refused))
        await phone.send("stop", "stop")
        await until(lambda: halts == ["messages"])
        flood.cancel()


@pytest.mark.broker
@pytest.mark.parametrize("payload", [b"", b"access-check 0123456789abcdef"])
async def test_so_many_of_what_is_no_stop_that_one_may_be_lost_among_them_halt(
    halts, phone, settings, payload
):
    await phone.send("stop", payload)
    await phone.send("answer", "nothing")
    await until(lambda: "nothing is asked now" in " ".join(phone.refusals()))
    assert halts == []
    async with asyncio.TaskGroup() as tasks:
        flood = tasks.create_task(pour(settings.port, [packet(f"{TREE}/stop", payload)], 600))
        await until(lambda: halts != [])
        flood.cancel()


@pytest.mark.parametrize(
    ("at_s", "times"),
    [([0.0], 1), ([0.0, HALT_AGAIN_S / 2], 1), ([0.0, HALT_AGAIN_S], 2), ([0.0] * 1000, 1)],
)
def test_many_stops_at_once_are_one(at_s, times):
    halts: list[str] = []
    station = Station("workshop-220", now=now, studies=list)
    station.on_halt(halts.append)
    reception = Reception(
        station, Topics("workshop-220"), now=now, shown=lambda: None, tell=lambda kind, text: None
    )
    for moment_s in at_s:
        reception.take_stop(b"stop", kept=False, at_s=moment_s)
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
