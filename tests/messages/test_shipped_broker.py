"""The shipped broker files, on a real mosquitto: passwords, TLS, an access list by machine."""

import asyncio
import os
import re
import shutil
import ssl
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import aiomqtt
import pytest
from aiomqtt import ProtocolVersion
from at_the_station import MACHINE, TREE, phone_at, prompt, station_served, until
from kept_port import kept_port
from real_broker import RealBroker

from hostctl.config.find import SHIPPED
from hostctl.config.host import Messages, Tls
from hostctl.daemon.broker_login import login_findings
from hostctl.records import Word

pytestmark = [pytest.mark.broker, pytest.mark.slow]
BY = {"daemon_passwords": ("hostctl", "phone"), "passwords": ("phone", "display", "stranger")}
"""Who comes in by which way. `phone` by the daemon's too, for a daemon that may little."""


class ShippedBroker:
    """Set up as the file says, but for the folder and the ports; its last way in taken too."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        shutil.copytree(SHIPPED / "broker", folder, dirs_exist_ok=True)
        subprocess.run(["sh", "make_certificates.sh", "printers.local"], cwd=folder, check=True)
        passwd = shutil.which("mosquitto_passwd")
        assert passwd
        for file, users in BY.items():
            (folder / file).touch(mode=0o600)
            for user in users:
                subprocess.run(
                    [passwd, "-b", file, user, f"secret of {user}"], cwd=folder, check=True
                )
        (folder / "access_list").chmod(0o600)
        self.tls_port, self.afar_port = kept_port(), kept_port()
        self.broker = RealBroker(folder.parent, self._settings())

    def _settings(self) -> str:
        shipped = (self.folder / "mosquitto.conf").read_text()
        rules, afar = shipped.split("# A daemon on another computer: take the marks away.\n")
        return (
            (rules + afar.replace("# ", ""))
            .replace("/etc/mosquitto/hostctl", str(self.folder))
            .replace("/var/lib/mosquitto/", f"{self.folder}/")
            .replace("listener 1883", "listener PORT")
            .replace("listener 8883", f"listener {self.tls_port} 127.0.0.1")
            .replace("listener 8884", f"listener {self.afar_port} 127.0.0.1")
            .replace("persistence true", "")
            .replace("set_tcp_nodelay true", "")
        )

    def way(self, user: str) -> dict[str, Any]:
        """How this user comes in, as a phone does; hostctl by the daemon's way."""
        more: dict[str, Any] = {"username": user, "password": f"secret of {user}"}
        if user == "hostctl":
            return {"port": self.broker.port, **more}
        return {"port": self.tls_port, "tls_context": self.tls(), **more}

    def settings(self, **more: object) -> Messages:
        password = self.folder / "daemon_password"
        password.write_text("secret of hostctl\n")
        password.chmod(0o600)
        given = {
            "broker": "localhost",
            "port": self.broker.port,
            "user": "hostctl",
            "password_file": str(password),
        }
        return Messages.model_validate({**given, **more})

    def tls(self) -> ssl.SSLContext:
        return ssl.create_default_context(cafile=str(self.folder / "ca.crt"))


@pytest.fixture(scope="module")
def shipped(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ShippedBroker]:
    here = tmp_path_factory.mktemp("broker")
    made = ShippedBroker(here / "hostctl")
    made.broker.start()
    yield made
    made.broker.kill()


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
        ("phone", f"{TREE}/reading", False),
        ("phone", f"{TREE}/online", False),
        ("phone", "hostctl/workshop-tri/answer", False),
        ("display", f"{TREE}/answer", False),
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


@pytest.mark.parametrize("topic", ["answer", "command", "stop", "online", "state"])
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


# ------------------------------------------------------------ the examination tries each topic


def findings_of(shipped, *machines: str, **more: object) -> list[tuple[bool, str, str]]:
    return list(login_findings(shipped.settings(**more), machines))


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
def test_an_examination_finds_every_topic_of_a_listed_machine_carried(shipped, protocol):
    found = findings_of(shipped, "sim-220", "workshop-tri", protocol=protocol)
    assert [(good, what) for good, what, _ in found] == [
        (True, "it lets the user 'hostctl' in"),
        (True, "it carries each topic of 'sim-220'"),
        (True, "it carries each topic of 'workshop-tri'"),
    ]


def test_an_examination_says_which_topics_the_access_list_denies(shipped):
    _, good, bad = findings_of(shipped, "sim-220", "unlisted")
    assert good[0]
    assert not bad[0]
    for name in ("answer", "command", "stop", "online", "state", "prompt", "reading", "event"):
        assert f"hostctl/unlisted/{name}" in bad[1]
    assert "read and write hostctl/unlisted/#" in bad[2]


def test_an_examination_says_what_a_weak_user_lacks(shipped, tmp_path):
    password = tmp_path / "phone_password"
    password.write_text("secret of phone\n")
    password.chmod(0o600)
    _, found = findings_of(shipped, MACHINE, user="phone", password_file=str(password))
    lacks = ", ".join(
        f"{TREE}/{name}" for name in ("online", "state", "prompt", "reading", "event")
    )
    assert found[1] == f"its access list denies {lacks}"


def test_an_examination_tries_the_topics_where_hubs_look(shipped):
    """In the shipped access list they stand as comments."""
    _, found = findings_of(shipped, "sim-220", discovery=True)
    assert "homeassistant/button/hostctl_sim-220/stop/config" in found[1]
    assert "homeassistant/+/hostctl_sim-220/+/config" in found[2]


async def test_a_daemon_at_work_is_not_troubled_by_an_examination(shipped, tmp_path):
    async with (
        phone_at(**shipped.way("phone")) as phone,
        station_served(tmp_path, shipped.settings()) as at,
    ):
        halts: list[str] = []
        at.station.on_halt(halts.append)
        asked = at.ask(prompt("1-1"))
        await until(phone.shows("1-1"))
        await until(lambda: at.channel.stop_line.hears and at.outbox.waiting == 0)
        phone.seen.clear()
        found = await asyncio.to_thread(findings_of, shipped, MACHINE)
        assert [good for good, _, _ in found] == [True, True]
        await until(lambda: b"" in phone.plain("event"))
        assert set(phone.plain("online")) == {b"online"}
        assert {said["prompt_id"] for said in phone.said("prompt")} == {"1-1"}
        assert (halts, phone.plain("event"), asked.done()) == ([], [b""], False)


# ------------------------------------------------------------ all shipped files together


def test_the_access_list_names_each_shipped_machine():
    listed = (SHIPPED / "broker" / "access_list").read_text()
    for file in (SHIPPED / "machines").glob("*.yaml"):
        assert f"\ntopic readwrite hostctl/{file.stem}/#\n" in listed


def shipped_directory(shipped: ShippedBroker, folder: Path) -> str:
    """The shipped folder with the messages in host.yaml taken, set up as the files say."""
    shutil.copytree(SHIPPED, folder)
    host = folder / "host.yaml"
    before, messages = host.read_text().split("# messages:\n")
    messages, after = messages.split("\n\n", 1)
    taken = re.sub(r"^# (?=  )", "", messages, flags=re.MULTILINE)
    taken = taken.replace("port: 1883", f"port: {shipped.broker.port}")
    host.write_text(f"{before}messages:\n{taken}\n\n{after}")
    (folder / "password").touch(mode=0o600)
    (folder / "password").write_text("secret of hostctl\n")
    return str(folder)


def test_the_shipped_files_fit_each_other_and_doctor_finds_so(shipped, tmp_path):
    folder = shipped_directory(shipped, tmp_path / "config")
    said = doctor(folder, tmp_path)
    assert "it carries each topic of 'sim-220'" in said
    assert not [line for line in said.splitlines() if "MEND" in line and "broker" in line]


def test_doctor_says_when_the_access_list_forgets_the_machine(shipped, tmp_path):
    folder = shipped_directory(shipped, tmp_path / "config")
    host = tmp_path / "config" / "host.yaml"
    host.write_text(host.read_text().replace("[sim-220]", "[mine]"))
    machine = (SHIPPED / "machines" / "sim-220.yaml").read_text()
    (tmp_path / "config" / "machines" / "mine.yaml").write_text(
        machine.replace("machine: sim-220", "machine: mine")
    )
    said = doctor(folder, tmp_path)
    assert re.search(r"MEND +broker.*denies hostctl/mine/answer", " ".join(said.split()))


def doctor(folder: str, home: Path) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "hostctl", "doctor", "--config", folder],
        capture_output=True,
        text=True,
        env={**os.environ, "HOSTCTL_DATABASE": str(home / "kept.sqlite")},
        check=False,
    )
    assert not done.stderr
    return done.stdout
