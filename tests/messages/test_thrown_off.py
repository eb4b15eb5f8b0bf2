"""Who takes our client ids: nobody can guess them, and whoever has them does not keep us out."""

import asyncio
import stat
from contextlib import suppress
from pathlib import Path

import aiomqtt
import pytest
from aiomqtt import MqttError
from aiomqtt.exceptions import MqttCodeError
from at_the_station import (
    MACHINE,
    TREE,
    AtTheStation,
    Phone,
    phone_at,
    running,
    station_served,
    until,
)
from halted_machine import HaltedMachine
from id_thief import taken
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.reasoncodes import ReasonCode
from real_broker import RealBroker

from hostctl.channels.messages.arriving.reception import AGAIN_S
from hostctl.channels.messages.connection.client_ids import FILE_NAME, LENGTH, ClientIds
from hostctl.channels.messages.connection.lasting import LATELY
from hostctl.channels.messages.connection.retries import ENDS, ENDS_WITHIN_S, FIRST_S, Retries
from hostctl.channels.messages.connection.urgent import ABOUT
from hostctl.config.host import Messages
from hostctl.news import Answer, Word

GUESSED = (f"hostctl-{MACHINE}", f"hostctl:stop:{MACHINE}")
CONNECTIONS = (MACHINE, f"{MACHINE} urgent")


async def a_hold_and_three_stops_are_heard(at: AtTheStation, phone: Phone) -> None:
    halts: list[str] = []
    at.station.machine = HaltedMachine(halts.append)
    held: list[Answer] = []
    at.station.desk.on_stop.add(held.append)
    at.tell(running())
    await phone.send("hold", "hold")
    await until(lambda: [answer.word for answer in held] == [Word.HOLD])
    for sent in range(3):
        await phone.send("stop", "stop")
        await until(lambda: len(halts) == sent + 1)  # noqa: B023
        await asyncio.sleep(AGAIN_S)  # the broker's time is real


@pytest.mark.broker
@pytest.mark.slow
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_stops_are_heard_while_somebody_takes_the_ids_one_might_guess(
    broker: RealBroker, tmp_path: Path, protocol: str
):
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    async with phone_at(broker.port) as phone, station_served(tmp_path, settings) as at:
        await until(lambda: at.channel.urgent.hears)
        async with taken(broker.port, *GUESSED):
            await a_hold_and_three_stops_are_heard(at, phone)
        assert at.is_connected()
        assert at.station.warnings == {}


@pytest.mark.broker
@pytest.mark.slow
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_whoever_stole_the_ids_is_told_of_and_rid_of(
    broker: RealBroker, tmp_path: Path, protocol: str
):
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    async with phone_at(broker.port) as phone, station_served(tmp_path, settings) as at:
        await until(lambda: at.channel.urgent.hears and at.is_connected())
        stolen = [ClientIds(tmp_path / FILE_NAME, pytest.fail).of(name) for name in CONNECTIONS]
        async with taken(broker.port, *stolen):
            await until(lambda: at.station.warnings.get("messages", "").endswith(LATELY))
            await until(lambda: at.station.warnings.get(ABOUT, "").endswith(LATELY))
            await until(lambda: at.channel.urgent.hears)
            await a_hold_and_three_stops_are_heard(at, phone)
            await until(lambda: len(thrown_off(phone)) == 2)
        assert phone.plain("online")[-1] == b"online"
        assert any("ended our connection 3 times" in text for text in at.said)
        again = [ClientIds(tmp_path / FILE_NAME, pytest.fail).of(name) for name in CONNECTIONS]
        assert not set(again) & set(stolen)


def thrown_off(phone: Phone) -> list[str]:
    return [event["text"] for event in phone.said("event") if event["event"] == "thrown-off"]


@pytest.mark.broker
async def test_after_a_crash_the_half_dead_session_is_ended_and_its_will_comes_first(
    broker: RealBroker, tmp_path: Path
):
    """Its ids are those of the daemon that died, whose connection the broker believes in still."""
    settings = Messages(broker="127.0.0.1", port=broker.port)
    dead = ClientIds(tmp_path / FILE_NAME, pytest.fail).of(MACHINE)
    will = aiomqtt.Will(f"{TREE}/online", "offline", 1, retain=True)
    async with phone_at(broker.port) as phone:
        with suppress(MqttError):
            async with (
                aiomqtt.Client("127.0.0.1", broker.port, identifier=dead, will=will) as half_dead,
                station_served(tmp_path, settings),
            ):
                await until(lambda: phone.plain("online")[-1:] == [b"online"])
                with pytest.raises(MqttError):  # since the broker has ended it
                    async for _ in half_dead.messages:
                        pass
        assert phone.plain("online")[:2] == [b"offline", b"online"]


# ------------------------------------------------------------ when it counts as being thrown off


def ended(code: int) -> MqttError:
    """As the library tells it: the broker's code, or 128 where it said nothing."""
    fault = MqttError("Disconnected during message iteration")
    fault.__cause__ = MqttCodeError(ReasonCode(PacketTypes.DISCONNECT, identifier=code))
    return fault


def test_a_broker_that_says_so_is_believed_at_once():
    """MQTT 5, 3.14.2.1: 0x8E, session taken over. The mosquitto of Debian 12 does not say it."""
    retries = Retries("printers.local:1883", lambda text: None)
    retries.connected(0.0)
    assert retries.failed(ended(0x8E), 100.0) == FIRST_S
    assert "another client took our id" in retries.thrown_off


@pytest.mark.parametrize(
    ("every_s", "times", "thrown"),
    [
        (1.0, ENDS, True),
        (1.0, ENDS - 1, False),
        (ENDS_WITHIN_S / 2, ENDS, True),
        (ENDS_WITHIN_S / 2 + 0.1, 20, False),
    ],
)
def test_else_it_is_how_often_what_was_taken_is_ended(every_s: float, times: int, thrown: bool):
    retries = Retries("printers.local:1883", lambda text: None)
    for number in range(times):
        retries.connected(number * every_s)
        retries.failed(ended(128), number * every_s)
    assert bool(retries.thrown_off) is thrown


def test_a_broker_that_is_away_throws_nobody_off():
    retries = Retries("printers.local:1883", lambda text: None)
    retries.connected(0.0)
    for second in range(10):
        retries.failed(MqttError("[Errno 111] Connection refused"), float(second))
        assert not retries.thrown_off


# ------------------------------------------------------------ the ids


def ids(folder: Path) -> list[str]:
    made = ClientIds(folder / FILE_NAME, pytest.fail)
    return [made.of(name) for name in CONNECTIONS]


def test_they_are_the_same_after_a_restart_and_nobody_elses(tmp_path: Path):
    (tmp_path / "other").mkdir()
    first = ids(tmp_path)
    assert ids(tmp_path) == first
    assert len({*first, *ids(tmp_path / "other"), *ids(tmp_path)}) == 4
    assert stat.S_IMODE((tmp_path / FILE_NAME).stat().st_mode) == 0o600


def test_every_broker_must_take_them(tmp_path: Path):
    """MQTT 3.1.1, [MQTT-3.1.3-5]: 1 to 23 bytes of 0-9, a-z, A-Z; from memory."""
    for made in ids(tmp_path):
        assert made.isascii()
        assert made.isalnum()
        assert len(made) == LENGTH == 23


@pytest.mark.parametrize("spoil", [lambda p: p.chmod(0o640), lambda p: p.write_text("no secret")])
def test_a_secret_that_is_none_is_made_anew(tmp_path: Path, spoil):
    before = ids(tmp_path)
    spoil(tmp_path / FILE_NAME)
    after = ids(tmp_path)
    assert not set(before) & set(after)
    assert stat.S_IMODE((tmp_path / FILE_NAME).stat().st_mode) == 0o600


def test_where_nothing_can_be_kept_there_are_ids_all_the_same(tmp_path: Path):
    said: list[str] = []
    made = ClientIds(tmp_path / "none" / FILE_NAME, said.append)
    assert made.of(MACHINE) == made.of(MACHINE)
    assert "can't be written" in said[0]
