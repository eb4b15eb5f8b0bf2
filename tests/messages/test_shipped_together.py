"""All shipped files together: `hostctl doctor` tries each topic, says what the list forgets."""

import asyncio
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from at_the_station import MACHINE, TREE, phone_at, prompt, station_served, until
from halted_machine import HaltedMachine
from shipped_broker import ShippedBroker

from hostctl.config.find import SHIPPED
from hostctl.daemon.examination.broker_login import login_findings

pytestmark = [pytest.mark.broker, pytest.mark.slow]


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
    for name in (
        "answer",
        "command",
        "hold",
        "stop",
        "online",
        "state",
        "prompt",
        "reading",
        "event",
    ):
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
        at.station.machine = HaltedMachine(halts.append)
        asked = at.ask(prompt("1-1"))
        await until(phone.shows("1-1"))
        await until(lambda: at.channel.urgent.hears and at.outbox.waiting == 0)
        await until(lambda: phone.plain("event") != [])  # it is connected, and the phone was told
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
