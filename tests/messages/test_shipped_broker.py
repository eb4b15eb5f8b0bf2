"""The shipped broker files, on a real mosquitto: passwords, TLS, an access list by machine."""

import shutil
import ssl
import subprocess
from collections.abc import Iterator
from pathlib import Path

import aiomqtt
import pytest
from at_the_station import TREE, phone_at, prompt, station_served, until
from kept_port import kept_port
from real_broker import RealBroker

from hostctl.config.host import Messages, Tls
from hostctl.daemon.broker_login import login_finding
from hostctl.records import Word

pytestmark = [pytest.mark.broker, pytest.mark.slow]
SHIPPED = Path(__file__).parents[2] / "configs" / "broker"
USERS = ("hostctl", "phone", "display", "stranger")


class ShippedBroker:
    """Set up as the file says, but for the folder and the ports."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        shutil.copytree(SHIPPED, folder, dirs_exist_ok=True)
        subprocess.run(["sh", "make_certificates.sh", "printers.local"], cwd=folder, check=True)
        (folder / "passwords").touch(mode=0o600)
        passwd = shutil.which("mosquitto_passwd")
        assert passwd
        for user in USERS:
            subprocess.run(
                [passwd, "-b", "passwords", user, f"secret of {user}"], cwd=folder, check=True
            )
        (folder / "access_list").chmod(0o600)
        self.tls_port = kept_port()
        self.broker = RealBroker(folder.parent, self._settings())

    def _settings(self) -> str:
        return (
            (self.folder / "mosquitto.conf")
            .read_text()
            .replace("/etc/mosquitto/hostctl", str(self.folder))
            .replace("/var/lib/mosquitto/", f"{self.folder}/")
            .replace("listener 1883", "listener PORT")
            .replace("listener 8883", f"listener {self.tls_port} 127.0.0.1")
            .replace("persistence true", "")
            .replace("set_tcp_nodelay true", "")
        )

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


def login(user: str) -> dict[str, str]:
    return {"username": user, "password": f"secret of {user}"}


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_the_daemon_and_a_phone_meet_over_tls(shipped, tmp_path, protocol):
    tls = Tls(ca_file=str(shipped.folder / "ca.crt"))
    settings = shipped.settings(port=shipped.tls_port, tls=tls, protocol=protocol)
    phone_settings = {"tls_context": shipped.tls(), **login("phone")}
    async with (
        phone_at(shipped.tls_port, **phone_settings) as phone,
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
    settings = shipped.settings(port=shipped.tls_port, tls=tls)
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
    finding = login_finding(shipped.settings(password_file=str(file)))
    assert (finding[0], said in finding[1]) == (good, True)
    assert password not in finding[1]


async def test_nobody_comes_in_without_a_password(shipped):
    with pytest.raises(aiomqtt.MqttError):
        async with aiomqtt.Client("127.0.0.1", shipped.broker.port):
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
    port = shipped.broker.port
    async with phone_at(port, **login("hostctl")) as all_seeing:
        async with aiomqtt.Client("127.0.0.1", port, **login(user)) as client:
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
