"""The limits that keep a flood harmless, and the files that hold secrets."""

import ssl
from pathlib import Path

import pytest
from aiomqtt import MqttError
from aiomqtt.exceptions import MqttConnectError

from hostctl.channels.messages.arriving.limits import (
    CALM_AGAIN_S,
    CALM_MESSAGES,
    IDS_KEPT,
    Calm,
    Quota,
    Remembered,
)
from hostctl.channels.messages.connection.access import BACK_WITHIN_S, LATEST_S, Access
from hostctl.channels.messages.connection.broker import Broker
from hostctl.channels.messages.connection.client_ids import ClientIds
from hostctl.channels.messages.connection.retries import Retries
from hostctl.channels.messages.topics import Topics
from hostctl.channels.secret_file import read_secret
from hostctl.config.host import Messages, Tls
from hostctl.errors import ConfigError


def test_it_is_calm_until_more_than_twenty_messages_come_in_a_second():
    calm = Calm()
    assert [calm.note(0.0) for _ in range(CALM_MESSAGES + 1)] == [True] * CALM_MESSAGES + [False]
    assert not calm.note(0.9)
    assert not calm.note(2.0)  # what came in between may have waited for us
    assert not calm.note(CALM_AGAIN_S)
    assert calm.note(0.9 + CALM_AGAIN_S)


def test_a_few_refusals_are_told_at_once_then_one_every_two_seconds():
    quota = Quota()
    assert sum(quota.take(100.0) for _ in range(10_000)) == 5
    assert sum(quota.take(100.0 + i / 1000) for i in range(10_000)) == 4
    assert quota.untold == 19_991


def test_what_went_untold_is_counted_once():
    quota = Quota()
    for _ in range(8):
        quota.take(0.0)
    assert [quota.untold_now(0.5), quota.untold_now(2.0), quota.untold_now(9.0)] == [0, 3, 0]


def test_only_so_many_ids_are_remembered():
    remembered = Remembered()
    for number in range(IDS_KEPT + 1):
        remembered.add(str(number))
    assert "0" not in remembered
    assert "1" in remembered


def test_waiting_doubles_up_to_eight_seconds_and_trouble_is_said_once():
    said: list[str] = []
    retries = Retries("printers.local:1883", said.append)
    fault = MqttError("[Errno 111] Connection refused")
    assert [retries.failed(fault, 0.0) for _ in range(6)] == [0.5, 1, 2, 4, 8, 8]
    assert len(said) == 1
    retries.connected(10.0)
    assert retries.failed(fault, 11.0) == 8
    retries.connected(20.0)
    assert retries.failed(fault, 40.0) == 0.5


@pytest.mark.parametrize("code", [4, 5])  # MQTT 3.1.1, table 3.1: user or password; authorisation
def test_a_refused_password_is_said_in_words(code):
    said: list[str] = []
    Retries("printers.local:1883", said.append).failed(MqttConnectError(code), 0.0)
    assert said[0].startswith("the broker printers.local:1883 refuses the user or password")


# ------------------------------------------------------------ secrets


def secret(folder: Path, mode: int, text: str = "open sesame\n") -> Path:
    path = folder / "password"
    path.write_text(text)
    path.chmod(mode)
    return path


@pytest.mark.parametrize("mode", [0o600, 0o400])
def test_a_password_only_its_owner_can_read_is_taken(tmp_path, mode):
    assert read_secret(secret(tmp_path, mode), "the broker's password") == "open sesame"


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o660, 0o602, 0o644])
def test_a_password_that_others_can_touch_is_refused_before_anything_starts(tmp_path, mode):
    path = secret(tmp_path, mode)
    settings = Messages(broker="localhost", user="hostctl", password_file=str(path))
    with pytest.raises(ConfigError, match=f"chmod 600 {path}") as refused:
        Broker(settings, ClientIds(None, pytest.fail), "workshop-220")
    assert "sesame" not in str(refused.value)


@pytest.mark.parametrize("text", ["", "\n"])
def test_an_empty_password_file_is_refused(tmp_path, text):
    with pytest.raises(ConfigError, match="empty"):
        read_secret(secret(tmp_path, 0o600, text), "the broker's password")


def test_a_missing_password_file_is_refused(tmp_path):
    with pytest.raises(ConfigError, match="can't be read"):
        read_secret(tmp_path / "none", "the broker's password")


def test_a_missing_authority_is_refused(tmp_path):
    settings = Messages(broker="localhost", tls=Tls(ca_file=str(tmp_path / "none")))
    with pytest.raises(ConfigError, match="certificate"):
        Broker(settings, ClientIds(None, pytest.fail), "workshop-220")
    assert ssl.HAS_TLSv1_2


def access_after(*sent: str, back: str) -> Access:
    """At 0, 0.1, 0.2 s … these were sent; `back` has come back."""
    access = Access(Topics("workshop-220"))
    for number, name in enumerate(sent):
        access.sent(f"hostctl/workshop-220/{name}", number / 10)
    if back:
        access.is_echo(f"hostctl/workshop-220/{back}", b"", retained=False)
    return access


@pytest.mark.parametrize(
    ("back", "at_s", "denied"),
    [
        ("prompt", BACK_WITHIN_S - 0.1, 0),  # it may be under way
        ("prompt", BACK_WITHIN_S + 0.1, 1),  # what was sent after it is back
        ("online", BACK_WITHIN_S + 0.3, 0),  # what was sent before it is back: we are just late
        ("", BACK_WITHIN_S + 0.3, 0),
        ("", LATEST_S + 0.3, 3),
    ],
)
def test_a_topic_counts_as_denied_when_later_ones_came_back_or_none_did(back, at_s, denied):
    access = access_after("online", "state", "prompt", back=back)
    if back == "prompt":
        access.is_echo("hostctl/workshop-220/online", b"", retained=False)
    assert len(access.denied(at_s)) == denied
    assert access.denied(at_s) == []  # said once
