"""What is shipped for the daemon: its example, its unit, its rule; held to the program."""

import re
import shutil
import ssl
import subprocess
from contextlib import suppress
from pathlib import Path
from typing import get_args

import pytest
from pydantic import BaseModel

from hostctl.channels.page.access.tls import tls_of
from hostctl.config.directory import read_directory
from hostctl.config.find import REFERENCE, SHIPPED
from hostctl.config.host import Host, Page
from hostctl.daemon.in_use import needing_a_restart

ROOT = SHIPPED.parent
CERTIFIED = (("certificate", "crt"), ("key", "key"))
UNIT = SHIPPED / "systemd" / "hostctl.service"


def keys_in(kind: object) -> set[str]:
    """Every key of a model, and of the models in it."""
    found: set[str] = set()
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        for name, field in kind.model_fields.items():
            found |= {name} | keys_in(field.annotation)
    for part in get_args(kind):
        found |= keys_in(part)
    return found


def test_the_shipped_folder_is_a_directory_for_the_daemon():
    directory = read_directory(SHIPPED)
    assert list(directory.machines) == ["sim-220"]
    assert directory.host == Host(machines=["sim-220"])  # what it shows is what is left out


@pytest.mark.parametrize("key", sorted(keys_in(Host)))
def test_each_key_of_the_host_file_is_shown_and_told(key: str):
    assert re.search(rf"\b{key}:", (SHIPPED / "host.yaml").read_text())
    assert f"- `{key}` (" in (REFERENCE / "host.md").read_text()


def test_the_commented_examples_are_right(tmp_path: Path):
    """Every line that shows a key is valid once its mark is taken away."""
    text = (SHIPPED / "host.yaml").read_text()
    shown = re.sub(r"^# (?=(\w+:|  ))", "", text, flags=re.MULTILINE)
    shutil.copytree(SHIPPED / "machines", tmp_path / "machines")
    shutil.copytree(SHIPPED / "studies", tmp_path / "studies")
    (tmp_path / "host.yaml").write_text(shown)
    host = read_directory(tmp_path).host
    assert host.messages is not None
    assert host.messages.password_file == str(tmp_path / "password")  # paths count from there
    assert host.page is not None
    assert (len(host.buttons), len(host.keys)) == (1, 1)


def test_the_unit_is_what_the_manager_takes(tmp_path: Path):
    analyze = shutil.which("systemd-analyze")
    if analyze is None:
        pytest.skip("systemd-analyze is not installed")
    program = tmp_path / "hostctl"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    unit = tmp_path / "hostctl.service"
    unit.write_text(re.sub(r"ExecStart=\S+", f"ExecStart={program}", UNIT.read_text()))
    done = subprocess.run(
        [analyze, "verify", str(unit)], capture_output=True, text=True, check=False
    )
    assert not [line for line in done.stderr.splitlines() if "hostctl" in line]


@pytest.mark.parametrize(
    "line",
    [
        "Type=notify",
        "NotifyAccess=main",
        "NoNewPrivileges=yes",
        "ProtectSystem=strict",
        "CapabilityBoundingSet=",
        "DevicePolicy=closed",
        "StateDirectory=hostctl",
        "RuntimeDirectory=hostctl",
    ],
)
def test_the_unit_shuts_the_daemon_in(line: str):
    assert line in UNIT.read_text().splitlines()


def test_devices_are_not_private_which_would_hide_the_serial_port():
    assert not re.search(r"^PrivateDevices", UNIT.read_text(), re.MULTILINE)


@pytest.mark.parametrize("name", ["printers.local", "localhost", "192.168.1.20"])
def test_the_shipped_script_makes_a_certificate_for_the_page_that_strict_clients_trust(
    tmp_path: Path, name: str
):
    """RFC 5280, 4.2.1: key usage in the authority, its key named in what it signed; from memory.

    Python 3.13 asks for both by default; phones ask for the purpose serverAuth.
    """
    script = SHIPPED / "broker" / "make_certificates.sh"
    command = ["sh", script, "printers.local", "192.168.1.20"]
    done = subprocess.run(command, cwd=tmp_path, check=True, capture_output=True, text=True)
    assert "Made server.crt and server.key, for DNS:printers.local" in done.stdout
    files = {f"{what}_file": str(tmp_path / f"server.{end}") for what, end in CERTIFIED}
    server = tls_of(Page(**files))
    assert server is not None
    client = ssl.create_default_context(cafile=str(tmp_path / "ca.crt"))
    client.verify_flags |= ssl.VERIFY_X509_STRICT
    to_client, to_server = ssl.MemoryBIO(), ssl.MemoryBIO()
    ours = client.wrap_bio(to_client, to_server, server_hostname=name)
    theirs = server.wrap_bio(to_server, to_client, server_side=True)
    for side in (ours, theirs, ours):  # greeting, answer with the certificate, judgement
        with suppress(ssl.SSLWantReadError):
            side.do_handshake()
    assert ours.getpeercert()


def test_what_needs_a_restart_is_named():
    old = Host(machines=["a"], arm_for_s=600)
    assert needing_a_restart(old, Host(machines=["a"], arm_for_s=60)) == []
    new = Host(machines=["a", "b"], simulated_people=True)
    assert needing_a_restart(old, new) == ["machines", "simulated_people"]
