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

from hostctl.cli.session import Session, carry_out_session
from hostctl.daemon.assembly.plan import machine_file, plan_from, study_file
from hostctl.errors import LinkError
from hostctl.link.patience import Patience

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
        (["SHOW", "1"], "hostctl: no command is called 'SHOW'. Did you mean 'show'?"),
        (["show"], "hostctl show: RUN is missing. See: hostctl show --help"),
        (["show", "zwei"], "hostctl show: RUN: 'zwei' is no run's number; 'hostctl runs' lists"),
        (["show", "-1"], "hostctl show: RUN: '-1' is no run's number"),
        (["show", "1", "2"], "hostctl show: '2' is one word too many. See: hostctl show --help"),
        (["show", "1", "--reading"], "hostctl show: there is no option '--reading'. Did you mean"),
        (["show", "1", "--readings=x"], "hostctl show: --readings takes no value"),
        (["show", "1", "--database", ""], "--database: its path is empty. Name a file"),
        (["run", "rig-check"], "hostctl run: --machine is missing"),
        (["run", "rig-check", "--machine"], "hostctl run: --machine lacks its value"),
        (["run", "rig-check", "--mach", "x"], "hostctl run: "),
        *(
            ([*words, "--seed", seed], f"hostctl {words[0]}: --seed: '{seed}' is no whole number")
            for words in (["run", "rig-check", "--machine", "sim-220"], ["demo"], ["start", "x"])
            for seed in ("x", "-1", "1.5")
        ),
        (["budget", "indicator-on-head", "--seed", "x"], "hostctl budget: --seed: 'x' is no whole"),
        (
            ["history", "--baseline", "1"],
            "hostctl history: --baseline: '1' is no whole number",
        ),
        (["export", "1"], "hostctl export: --csv or --json is missing"),
        (["export", "1", "--csv", "--json"], "hostctl export: --csv and --json exclude each other"),
        (["analyse", "1", "--unit", "cm"], "hostctl analyse: --unit can't be 'cm', only 'mm'"),
        (["analyse", "1", "--looks", "0"], "hostctl analyse: --looks: '0' is no whole number from"),
        (
            ["analyse", "1", "--proportion", "95"],
            "hostctl analyse: --proportion: 95 is not",
        ),
        (
            ["plan", "--see-ratio", "1"],
            "hostctl plan: --see-ratio 1 asks to tell two equal",
        ),
        (["plan", "--proportion", "95"], "hostctl plan: --proportion is 95, must be from 0.501 to"),
        (["plan", "--claim", "-1"], "hostctl plan: --claim is -1, must be from 0.000001 to 1000."),
    ],
)
def test_a_wrong_command_line_is_code_2(hostctl_here: Hostctl, words: list[str], said: str):
    told = one_line(hostctl_here(*words), 2)
    assert told.startswith(said)
    assert "argument" not in told
    assert "invalid" not in told


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
def test_a_path_that_may_not_even_be_looked_at_is_one_line(hostctl_here: Hostctl, words: list[str]):
    """Root may look at anything, so the test takes a name that is too long for anybody."""
    out_of_reach = f"{'x' * 300}.yaml"
    said = one_line(hostctl_here(*words, out_of_reach), 1)
    assert out_of_reach in said
    assert "file name too long. Check the path" in said


def test_simulated_people_stand_at_simulated_machines_only(hostctl_here: Hostctl):
    done = hostctl_here("run", "rig-check", "--machine", "workshop-220", "--simulated-people")
    assert "they can't stand at the port /dev/serial/by-id/" in one_line(done, 2)


def test_an_unknown_study_is_code_3_and_gets_the_nearest_name(hostctl_here: Hostctl):
    done = hostctl_here("run", "rigcheck", "--machine", "sim-220")
    assert "Did you mean 'rig-check'?" in one_line(done, 3)


def test_short_names_that_are_swapped_are_told_so(hostctl_here: Hostctl):
    said = one_line(hostctl_here("run", "sim-220", "--machine", "rig-check"), 3)
    assert said.startswith("sim-220: is a machine, not a study. Name a study here. Are the two sw")
    said = one_line(hostctl_here("budget", "rig-check"), 3)
    assert said.startswith("rig-check: is a study, not a budget.")


def test_bad_yaml_is_code_3_with_a_line_for_each_mistake(hostctl_here: Hostctl, tmp_path: Path):
    (tmp_path / "bad.yaml").write_text("study: small\ntitle: T\nkind: rig-check\ntrals: 3\n")
    done = hostctl_here("run", "bad.yaml", "--machine", "sim-220")
    assert done.returncode == 3
    assert done.stderr.splitlines() == [
        "bad.yaml:1: points is missing. Add it; the shipped files show how.",
        "bad.yaml:1: trials is missing. Add it; the shipped files show how.",
        "bad.yaml:4: trals is no key here. Did you mean 'trials'?",
    ]


def test_a_study_and_a_machine_that_are_swapped_are_told_so(
    hostctl_here: Hostctl, small_study: str, machine_at: MachineAt
):
    machine = machine_at("sim://workshop-220")
    for words in (
        ["run", machine, "--machine", small_study],
        ["run", machine, "--machine", machine],
    ):
        assert "bench.yaml: is a machine file, not a study file" in one_line(
            hostctl_here(*words), 3
        )
    words = ["check", small_study, "--machine", small_study]
    assert "small.yaml: is a study file, not a machine file" in one_line(hostctl_here(*words), 3)


def test_a_folder_in_a_files_place_is_told_so(hostctl_here: Hostctl, tmp_path: Path):
    (tmp_path / "folder").mkdir()
    told = one_line(hostctl_here("runs", "--database", "folder"), 7)
    assert (
        told == "folder: is a folder, not a database. Name a file in it, as folder/hostctl.sqlite\n"
    )
    assert "folder: is a folder. Give" in one_line(hostctl_here("budget", "folder"), 3)
    for words in (["analyse", "folder"], ["history", "folder"]):
        assert "folder: can't be read (is a directory)" in one_line(hostctl_here(*words), 8)
    assert "is no plain file" in one_line(hostctl_here("runs", "--database", "/dev/null"), 7)


def test_a_daemons_folder_that_is_not_there_is_told_once(hostctl_here: Hostctl, tmp_path: Path):
    (tmp_path / "file").write_text("")
    for given, why in (("nosuch", "there is no such folder"), ("file", "is no folder")):
        told = one_line(hostctl_here("serve", "--config", given), 3)
        assert told.startswith(f"{given}: {why}. Name the one that holds host.yaml")


def test_a_table_without_a_single_reading_is_one_line(hostctl_here: Hostctl, tmp_path: Path):
    (tmp_path / "notes.csv").write_text("reading\n" + "none today\n" * 40)
    told = one_line(hostctl_here("analyse", "notes.csv"), 8)
    assert "holds no reading: none of 40 rows can be used; line 2: " in told


def test_a_missing_table_of_dates_is_asked_for_as_such(hostctl_here: Hostctl):
    told = one_line(hostctl_here("history", "nosuch.csv"), 8)
    assert "Check the path to the CSV file." in told
    assert "number of a run" not in told


def test_a_study_that_does_not_fit_the_machine_is_code_3(hostctl_here: Hostctl):
    done = hostctl_here("run", "probe-loop", "--machine", "sim-220")
    assert done.returncode == 3
    assert "machine 'sim-220' has no probe" in done.stderr


@pytest.mark.parametrize("port", ["/dev/serial/by-id/usb-none", "sim://workshop-9", "sim://?x=1"])
def test_an_unknown_port_is_code_4(
    hostctl: Hostctl, machine_at: MachineAt, study_for_real: str, port: str
):
    told = one_line(hostctl("run", study_for_real, "--machine", machine_at(port)), 4)
    assert told.partition("bench.yaml:")[2].startswith(f"9: port {port}: ")
    assert "Did you mean" not in told  # another port may be another printer


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


@pytest.mark.slow
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


@pytest.mark.slow
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


@pytest.mark.slow
def test_a_database_of_a_newer_program_is_code_7(
    hostctl_here: Hostctl, small_study: str, tmp_path: Path
):
    assert (
        hostctl_here("run", small_study, "--machine", "sim-220", "--simulated-people").returncode
        == 0
    )
    with sqlite3.connect(tmp_path / "kept.sqlite") as connection:
        connection.execute("PRAGMA user_version = 9999")
    connection.close()
    assert "newer" in one_line(hostctl_here("runs"), 7)


# A file system of 100 kB, in a name space of its own, so that no other program sees it.
ON_A_TINY_DISK = [
    *["unshare", "--map-root-user", "--mount", "sh", "-c"],
    *['mount -t tmpfs -o size=100k none "$0" && exec "$@"'],
]


@pytest.mark.slow
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
    machine_at: MachineAt, study_for_real: str, unintelligible_port: str, tmp_path: Path
):
    plan = plan_from(study_file(study_for_real), machine_file(machine_at(unintelligible_port)))
    soon = Patience(listen_s=0.0, boot_s=1.0)  # both are really waited out
    run = Session(plan=plan, database=tmp_path / "kept.sqlite", channels={}, patience=soon)
    with pytest.raises(LinkError, match="no line could be read at 115200 baud") as wrong:
        carry_out_session(run)
    assert wrong.value.exit_code == 5


def test_no_database_yet_is_code_7(hostctl_here: Hostctl):
    assert "Record a run first" in one_line(hostctl_here("runs"), 7)


@pytest.mark.slow
def test_a_run_that_is_not_there_is_code_7(hostctl_here: Hostctl, small_study: str):
    assert (
        hostctl_here("run", small_study, "--machine", "sim-220", "--simulated-people").returncode
        == 0
    )
    assert "it holds no run 9" in one_line(hostctl_here("show", "9"), 7)


@pytest.mark.slow
def test_the_end_of_the_input_is_code_9_and_says_what_became_of_it(
    hostctl: Hostctl, small_study: str
):
    done = hostctl("run", small_study, "--machine", "sim-220")
    assert "No run was begun, so nothing was read." in one_line(done, 9)


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


@pytest.mark.slow
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
