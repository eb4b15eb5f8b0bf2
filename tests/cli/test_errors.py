"""What can go wrong at the command line: one clear line, and its exit code. Never a traceback."""

import contextlib
import fcntl
import os
import pty
import shutil
import sqlite3
import subprocess
import sys
import threading
import tty as tty_module
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest

Done = subprocess.CompletedProcess[str]
Hostctl = Callable[..., Done]
MachineAt = Callable[[str], str]


def one_line(done: Done, code: int) -> str:
    """Standard error, which must be a single line, given the exit code is right."""
    assert done.returncode == code, done.stderr
    assert done.stderr.count("\n") == 1, done.stderr
    return done.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["shwo"], "hostctl: no command is called 'shwo'. Did you mean 'show'?"),
        (["zzzz"], "hostctl: no command is called 'zzzz'. See: hostctl --help"),
        (["show"], "hostctl show: the following arguments are required: RUN. See: hostctl show"),
        (["show", "two"], "hostctl show: argument RUN: invalid int value: 'two'"),
        (["run", "rig-check"], "hostctl run: the following arguments are required: --machine"),
        (["run", "rig-check", "--mach", "x"], "hostctl run: "),
        (["run", "rig-check", "--machine", "sim-220", "--seed", "-1"], "hostctl run: --seed must"),
    ],
)
def test_a_wrong_command_line_is_code_2(hostctl: Hostctl, words: list[str], said: str):
    assert one_line(hostctl(*words), 2).startswith(said)


@pytest.mark.parametrize(
    "words",
    [
        ["check"],
        ["run", "rig-check", "--machine"],
        ["analyse"],
        ["budget"],
        ["serve", "--config"],
    ],
)
def test_a_path_that_may_not_even_be_looked_at_is_one_line(hostctl: Hostctl, words: list[str]):
    """Root may look at anything, so the test takes a name that is too long for anybody."""
    out_of_reach = f"{'x' * 300}.yaml"
    said = one_line(hostctl(*words, out_of_reach), 1)
    assert out_of_reach in said
    assert "file name too long. Check the path" in said


def test_simulated_people_stand_at_simulated_machines_only(hostctl: Hostctl):
    done = hostctl("run", "rig-check", "--machine", "workshop-220", "--simulated-people")
    assert "they can't stand at the port /dev/serial/by-id/" in one_line(done, 2)


def test_an_unknown_study_is_code_3_and_gets_the_nearest_name(hostctl: Hostctl):
    done = hostctl("run", "rigcheck", "--machine", "sim-220")
    assert "Did you mean 'rig-check'?" in one_line(done, 3)


def test_bad_yaml_is_code_3_with_a_line_for_each_mistake(hostctl: Hostctl, tmp_path: Path):
    (tmp_path / "bad.yaml").write_text("study: small\ntitle: T\nkind: rig-check\ntrals: 3\n")
    done = hostctl("run", "bad.yaml", "--machine", "sim-220")
    assert done.returncode == 3
    assert done.stderr.splitlines() == [
        "bad.yaml:1: points is missing. Add it; the shipped files show how.",
        "bad.yaml:1: trials is missing. Add it; the shipped files show how.",
        "bad.yaml:4: trals is no key here. Did you mean 'trials'?",
    ]


def test_a_study_that_does_not_fit_the_machine_is_code_3(hostctl: Hostctl):
    done = hostctl("run", "probe-loop", "--machine", "sim-220")
    assert done.returncode == 3
    assert "machine 'sim-220' has no probe" in done.stderr


@pytest.mark.parametrize("port", ["/dev/serial/by-id/usb-none", "sim://workshop-9", "sim://?x=1"])
def test_an_unknown_port_is_code_4(
    hostctl: Hostctl, machine_at: MachineAt, study_for_real: str, port: str
):
    assert port in one_line(hostctl("run", study_for_real, "--machine", machine_at(port)), 4)


def test_a_kind_of_port_nobody_brings_is_code_10(
    hostctl: Hostctl, machine_at: MachineAt, study_for_real: str
):
    done = hostctl("run", study_for_real, "--machine", machine_at("carrier-pigeon://home"))
    assert "no plug-in is called 'carrier-pigeon'" in one_line(done, 10)


@pytest.fixture
def tty() -> Iterator[tuple[int, str]]:
    ours, theirs = pty.openpty()
    yield theirs, os.ttyname(theirs)
    os.close(ours)
    os.close(theirs)


@pytest.fixture
def unintelligible_port() -> Iterator[str]:
    """A board at another baud rate: for each byte it hears, one that is no text."""
    ours, theirs = pty.openpty()
    tty_module.setraw(theirs)

    def answer() -> None:
        with contextlib.suppress(OSError):
            while heard := os.read(ours, 1000):
                os.write(ours, bytes([0x80, 0xFE, 0x1E, 0xF8] * len(heard))[: len(heard)])

    board = threading.Thread(target=answer, daemon=True)
    board.start()
    yield os.ttyname(theirs)
    os.close(theirs)
    board.join()
    os.close(ours)


def test_a_port_in_use_is_code_4(
    hostctl: Hostctl, machine_at: MachineAt, study_for_real: str, tty: tuple[int, str]
):
    held, name = tty
    fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
    done = hostctl("run", study_for_real, "--machine", machine_at(name))
    assert "another program has it open" in one_line(done, 4)


# Root may open anything, so its power to is taken away: CI runs as root, developers do not.
WITHOUT_ROOTS_POWER = (
    ["setpriv", "--bounding-set", "-dac_override,-dac_read_search", "--inh-caps", "-all"]
    if os.getuid() == 0
    else []
)


@pytest.mark.skipif(
    bool(WITHOUT_ROOTS_POWER) and shutil.which("setpriv") is None, reason="needs setpriv as root"
)
def test_a_port_without_permission_is_code_4(
    hostctl: Hostctl, machine_at: MachineAt, study_for_real: str, tty: tuple[int, str]
):
    os.chmod(tty[1], 0)  # noqa: PTH101  # a device, not a file of ours
    done = hostctl(
        "run", study_for_real, "--machine", machine_at(tty[1]), before=WITHOUT_ROOTS_POWER
    )
    assert "permi" in one_line(done, 4)


def test_a_file_that_is_no_database_is_code_7(hostctl: Hostctl, tmp_path: Path):
    (tmp_path / "kept.sqlite").write_bytes(b"not a database" * 100)
    assert "not a hostctl database" in one_line(hostctl("runs"), 7)


def test_a_database_of_a_newer_program_is_code_7(
    hostctl: Hostctl, small_study: str, tmp_path: Path
):
    assert hostctl("run", small_study, "--machine", "sim-220", "--simulated-people").returncode == 0
    with sqlite3.connect(tmp_path / "kept.sqlite") as connection:
        connection.execute("PRAGMA user_version = 9999")
    connection.close()
    assert "newer" in one_line(hostctl("runs"), 7)


# A file system of 100 kB, in a name space of its own, so that no other program sees it.
ON_A_TINY_DISK = [
    *["unshare", "--map-root-user", "--mount", "sh", "-c"],
    *['mount -t tmpfs -o size=100k none "$0" && exec "$@"'],
]


@pytest.mark.skipif(
    subprocess.run(["unshare", "--map-root-user", "--mount", "true"], check=False).returncode != 0,
    reason="needs a mount name space of its own",
)
def test_a_full_disk_is_code_7(hostctl: Hostctl, small_study: str, tmp_path: Path):
    disk = tmp_path / "disk"
    disk.mkdir()
    words = ["run", small_study, "--machine", "sim-220", "--simulated-people"]
    done = hostctl(
        *words, "--database", str(disk / "kept.sqlite"), before=[*ON_A_TINY_DISK, str(disk)]
    )
    assert "the disk is full, so this was not recorded. Free some space" in one_line(done, 7)


@pytest.mark.slow
def test_a_wrong_baud_rate_is_code_5(
    machine_at: MachineAt, study_for_real: str, unintelligible_port: str, own_env: dict[str, str]
):
    machine = machine_at(unintelligible_port)
    with subprocess.Popen(
        [sys.executable, "-m", "hostctl", "run", study_for_real, "--machine", machine],
        stdin=subprocess.PIPE,  # stays open: its end would end the run
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=own_env,
    ) as process:
        assert process.stderr is not None
        said = process.stderr.read()
        assert process.wait() == 5
    assert "no line could be read at 115200 baud" in said


def test_no_database_yet_is_code_7(hostctl: Hostctl):
    assert "Record a run first" in one_line(hostctl("runs"), 7)


def test_a_run_that_is_not_there_is_code_7(hostctl: Hostctl, small_study: str):
    assert hostctl("run", small_study, "--machine", "sim-220", "--simulated-people").returncode == 0
    assert "it holds no run 9" in one_line(hostctl("show", "9"), 7)


def test_the_end_of_the_input_is_code_9_and_says_how_to_go_on(hostctl: Hostctl, small_study: str):
    done = hostctl("run", small_study, "--machine", "sim-220")
    assert "hostctl resume" in one_line(done, 9)


def test_a_fault_of_our_own_is_code_70_and_its_traceback_is_kept_not_shown(
    tmp_path: Path, own_env: Mapping[str, str]
):
    program = """
import sys, types
from hostctl.cli import main
broken = types.ModuleType("hostctl.cli.broken")
broken.EXAMPLE, broken.add_arguments, broken.act = "x", lambda parser: None, lambda args: 1 / 0
sys.modules["hostctl.cli.broken"] = broken
main.COMMANDS["broken"] = "Fail."
sys.exit(main.main(["broken"]))
"""
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, env=own_env, check=False
    )
    log = tmp_path / "hostctl-faults.log"
    assert one_line(done, 70) == (
        f"hostctl: a fault of its own (ZeroDivisionError). Please report {log}.\n"
    )
    assert "Traceback" in log.read_text()


def test_a_reader_that_goes_away_is_no_fault(hostctl: Hostctl, own_env: Mapping[str, str]):
    with subprocess.Popen(
        [sys.executable, "-m", "hostctl", "--help"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=own_env,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait() == 141


def test_an_output_without_utf_8_gets_the_nearest_signs(
    hostctl: Hostctl, own_env: dict[str, str], small_study: str
):
    own_env |= {"PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}
    ran = hostctl("run", small_study, "--machine", "sim-220", "--simulated-people")
    assert (ran.returncode, ran.stderr) == (0, "")
    shown = hostctl("show", "1", "--readings")
    assert (shown.returncode, shown.stderr) == (0, "")
    assert shown.stdout.isascii()
    assert "----" in shown.stdout
    assert "?" not in shown.stdout
    assert "usage: hostctl COMMAND ..." in hostctl("--help").stdout
