"""The shipped broker files, on a real mosquitto: passwords, TLS, an access list by machine."""

from contextlib import suppress

import aiomqtt
import pytest
from aiomqtt import ProtocolVersion
from at_the_station import TREE, phone_at, prompt, station_served, until
from shipped_broker import ShippedBroker

from hostctl.config.host import Tls
from hostctl.daemon.examination.broker_login import login_findings
from hostctl.news import Word
from hostctl.run.station import UNARMED

pytestmark = [pytest.mark.broker, pytest.mark.slow]


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_the_daemon_and_a_phone_meet_over_tls(shipped, tmp_path, protocol):
    tls = Tls(ca_file=str(shipped.folder / "ca.crt"))
    settings = shipped.settings(port=shipped.afar_port, tls=tls, protocol=protocol)
    async with (
        phone_at(**shipped.way("phone")) as phone,
        station_served(tmp_path, settings) as at,
    ):
        asked = at.ask(prompt("1-1"))
        await until(phone.shows("1-1"))
        await phone.answer({"prompt_id": "1-1", "answer": "done"})
        assert (await asked).word is Word.DONE


# The library leaves a socket to the garbage collector when a handshake fails.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
async def test_a_server_that_our_authority_does_not_know_is_not_trusted(shipped, tmp_path):
    other = ShippedBroker(tmp_path / "other")
    tls = Tls(ca_file=str(other.folder / "ca.crt"))
    settings = shipped.settings(port=shipped.afar_port, tls=tls)
    async with station_served(tmp_path, settings) as at:
        await until(lambda: bool(at.said))
        assert "CERTIFICATE_VERIFY_FAILED" in at.said[0]


async def test_a_wrong_password_is_said_and_never_shown(shipped, tmp_path):
    wrong = tmp_path / "wrong"
    wrong.write_text("open sesame\n")
    wrong.chmod(0o600)
    async with station_served(tmp_path, shipped.settings(password_file=str(wrong))) as at:
        await until(lambda: bool(at.said))
        assert "refuses the user or password" in at.said[0]
        assert "sesame" not in " ".join(at.said)


@pytest.mark.parametrize(
    ("password", "good", "said"),
    [
        ("secret of hostctl", True, "it lets the user 'hostctl' in"),
        ("open sesame", False, "refuses the user or password in host.yaml"),
        ("\n", False, "it is empty, but should hold the broker's password"),
    ],
)
def test_an_examination_says_whether_the_password_is_taken(
    shipped, tmp_path, password: str, good: bool, said: str
):
    file = tmp_path / "password"
    file.touch(mode=0o600)
    file.write_text(password)
    finding = next(login_findings(shipped.settings(password_file=str(file)), ["sim-220"]))
    assert (finding[0], said in finding[1]) == (good, True)
    assert password not in finding[1]


async def test_nobody_comes_in_without_a_password(shipped):
    with pytest.raises(aiomqtt.MqttError):
        async with aiomqtt.Client("127.0.0.1", shipped.broker.port):
            pass
    with pytest.raises(aiomqtt.MqttError):
        async with aiomqtt.Client("localhost", shipped.tls_port, tls_context=shipped.tls()):
            pass


@pytest.mark.parametrize(
    ("user", "topic", "reaches"),
    [
        ("phone", f"{TREE}/answer", True),
        ("phone", f"{TREE}/command", True),
        ("phone", f"{TREE}/stop", True),
        ("phone", f"{TREE}/hold", True),
        ("phone", f"{TREE}/reading", False),
        ("phone", f"{TREE}/online", False),
        ("phone", "hostctl/workshop-tri/answer", False),
        ("display", f"{TREE}/answer", False),
        ("display", f"{TREE}/hold", False),
        ("stranger", f"{TREE}/answer", False),
        ("hostctl", "hostctl/workshop-tri/state", True),
        ("hostctl", "hostctl/other/state", False),
    ],
)
async def test_the_access_list_keeps_each_to_its_own(shipped, user, topic, reaches):
    async with phone_at(**shipped.way("hostctl")) as all_seeing:
        async with aiomqtt.Client("localhost", **shipped.way(user)) as client:
            await client.publish(topic, "tried", qos=1)
        await all_seeing.client.publish(f"{TREE}/event", "after it", qos=1)
        await until(lambda: any(payload == b"after it" for _, payload, _ in all_seeing.seen))
        assert ((topic, b"tried", False) in all_seeing.seen) is reaches


async def test_who_only_looks_on_sees_why_something_was_refused(shipped, tmp_path):
    async with (
        phone_at(**shipped.way("display")) as display,
        aiomqtt.Client("localhost", **shipped.way("phone")) as phone,
        station_served(tmp_path, shipped.settings()),
    ):
        await until(lambda: b"online" in display.plain("online"))
        await phone.publish(f"{TREE}/command", "start rig-check", qos=1)
        await until(lambda: bool(display.refusals()))
        assert UNARMED in display.refusals()[0]


async def test_a_silent_denial_is_said(shipped, tmp_path):
    """A phone's user in the daemon's place: it may not write what the daemon must."""
    password = tmp_path / "phone_password"
    password.write_text("secret of phone\n")
    password.chmod(0o600)
    settings = shipped.settings(user="phone", password_file=str(password))
    async with station_served(tmp_path, settings) as at:
        await until(lambda: len(denied(at.said)) == 4)
    assert sorted(denied(at.said)) == ["event", "online", "prompt", "state"]


def denied(said: list[str]) -> list[str]:
    """What was said to be denied, all at once or one after the other."""
    begins = "the broker's access list silently denies "
    ends = f"; allow its user to read and write {TREE}/#"
    named = [text.removeprefix(begins).removesuffix(ends) for text in said if begins in text]
    return [topic.removeprefix(f"{TREE}/") for text in named for topic in text.split(", ")]


# ------------------------------------------------------------ nobody in somebody else's place


@pytest.mark.parametrize("protocol", [ProtocolVersion.V311, ProtocolVersion.V5])
@pytest.mark.parametrize("whose", ["hostctl", "phone"])
async def test_the_weakest_user_ends_nobody_elses_connection(shipped, whose, protocol):
    """It knows the other's id, and takes it by each way in: the broker's own word of it stays."""
    name = "known" if whose == "hostctl" else whose
    async with phone_at(**shipped.way(whose), identifier=name, protocol=protocol) as victim:
        for port, tls in ((shipped.broker.port, None), (shipped.tls_port, shipped.tls())):
            thief = {**shipped.way("display"), "port": port, "tls_context": tls}
            with suppress(aiomqtt.MqttError):
                async with aiomqtt.Client("localhost", identifier=name, **thief) as client:
                    await client.publish(f"{TREE}/state", "tried", qos=1)
        await victim.client.subscribe(f"{TREE}/state", qos=1)  # raises once it was ended


async def test_the_daemons_way_takes_no_phones(shipped):
    for user in ("display", "stranger"):
        login = {**shipped.way(user), "port": shipped.broker.port, "tls_context": None}
        with pytest.raises(aiomqtt.MqttError):
            async with aiomqtt.Client("127.0.0.1", **login):
                pass


@pytest.mark.parametrize("topic", ["answer", "command", "hold", "stop", "online", "state"])
async def test_the_weakest_users_last_will_says_nothing(shipped, topic):
    """A will is published by the broker when its owner vanishes; the access list holds for it."""
    async with phone_at(**shipped.way("hostctl")) as all_seeing:
        will = aiomqtt.Will(f"{TREE}/{topic}", "stop", 1, retain=True)
        with suppress(aiomqtt.MqttError):
            async with aiomqtt.Client("localhost", **shipped.way("display"), will=will) as first:
                async with aiomqtt.Client("localhost", **shipped.way("display")):
                    pass  # this ends the first, whose will is due
                async for _ in first.messages:
                    pass
        await all_seeing.client.publish(f"{TREE}/event", "after it", qos=1)
        await until(lambda: any(payload == b"after it" for _, payload, _ in all_seeing.seen))
        assert b"stop" not in [payload for _, payload, _ in all_seeing.seen]
