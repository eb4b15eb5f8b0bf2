"""What a board that doesn't reset on opening was left with: heat, inches, a job of its own."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from daemon_process import SMALL, Daemon
from simulated_printer import at_screen, printer_at

pytestmark = pytest.mark.slow

ONLY_ASKS = {"M110", "M115", "M27", "M105", "M114"}


@pytest.fixture
def hands(daemon: Daemon, tmp_path: Path) -> Iterator[Path]:
    """Of the printer that bench is: in real time, and it stays as it is when its port is opened."""
    with printer_at(tmp_path, "workshop-220", "--keep-on-open", "--speed", "100") as (port, hands):
        daemon.write_machine("bench", str(port))
        file = daemon.folder / "machines" / "bench.yaml"
        text = file.read_text().replace("dry_cycles: 1", "dry_cycles: 0")
        file.write_text(text + "reset_on_open: false\n")
        write_study(daemon)
        yield hands


def write_study(daemon: Daemon, more: str = "") -> None:
    text = SMALL.replace("TRIALS", "2").replace("countdown_s: 0", "countdown_s: 1")
    (daemon.folder / "studies" / "small.yaml").write_text(text + more)


def switched_on(daemon: Daemon) -> None:
    """The board is on from the first opening on."""
    daemon.start()
    daemon.until("bench", lambda found: found["standing"] == "resting")
    daemon.end()


def run_here(daemon: Daemon) -> subprocess.CompletedProcess[str]:
    """Without the daemon."""
    study, machine = (
        daemon.folder / name for name in ("studies/small.yaml", "machines/bench.yaml")
    )
    words = ["run", str(study), "--machine", str(machine), "--jsonl"]
    nobody, kept_open = os.pipe()  # nobody says anything
    done = subprocess.run(
        [sys.executable, "-m", "hostctl", *words],
        stdin=nobody,
        capture_output=True,
        text=True,
        env=daemon.env,
        timeout=daemon.patience_s,
        check=False,
    )
    for end in (nobody, kept_open):
        os.close(end)
    return done


def codes(hands: Path) -> list[str]:
    """Of all commands that the board has obeyed."""
    obeyed = at_screen(hands, "obeyed")
    assert isinstance(obeyed, list)
    return [text.split(" ")[0] for text in obeyed]


def test_a_bed_left_hot_by_a_crash_is_switched_off_and_shown(daemon: Daemon, hands: Path):
    write_study(daemon, "warmth: {bed_c: 40, soak_s: 0}\n")
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.answer_all("bench", readings=1)
    assert at_screen(hands, "targets_c") == [0, 40]
    assert "bed" in str(daemon.machine("bench")["heat"])
    daemon.end(signal.SIGKILL)
    before = len(codes(hands))
    daemon.start()
    found = daemon.until("bench", lambda found: found["standing"] == "resting")
    assert at_screen(hands, "targets_c") == [0, 0]
    first_set = next(n for n, code in enumerate(codes(hands)[before:]) if code not in ONLY_ASKS)
    assert {"M27", "M105", "M114"} <= set(codes(hands)[before:][:first_set])
    assert "Found bed heating to 40 °C, which no run of ours needs: switched off." in str(
        found["notice"]
    )
    assert str(found["heat"]).startswith("bed ")
    assert "bed " in daemon.cli("status").stdout
    assert "heat-found" in daemon.log


def test_a_job_of_the_boards_own_is_only_asked_and_shown(daemon: Daemon, hands: Path):
    switched_on(daemon)
    at_screen(hands, "heat", "nozzle", 200)
    at_screen(hands, "start_job")
    before = len(codes(hands))
    refused = run_here(daemon)
    assert refused.returncode == 6
    assert "it runs a job of its own (its card is at byte" in refused.stderr
    daemon.start()
    found = daemon.until("bench", lambda found: found["standing"] == "own job")
    assert "a job of its own (its card is at byte" in str(found["own_job"])
    assert "nozzle" in str(found["heat"])
    assert "aims at 200" in daemon.cli("status").stdout
    daemon.type_keys("bench", "")
    refused = daemon.cli("start", "small")
    assert refused.returncode == 11
    assert "a job of its own" in refused.stderr
    assert set(codes(hands)[before:]) <= ONLY_ASKS
    assert at_screen(hands, "targets_c") == [200, 0]
    at_screen(hands, "end_job")
    at_screen(hands, "heat", "nozzle", 0)
    daemon.until("bench", lambda found: found["standing"] == "resting")
    assert {"G21", "G90", "M84"} <= set(codes(hands)[before:])


def test_a_board_left_in_inches_is_set_to_mm_before_anything_moves(daemon: Daemon, hands: Path):
    switched_on(daemon)
    at_screen(hands, "switch_to_inches")
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.answer_all("bench", readings=2)
    daemon.until("bench", lambda found: "is complete" in str(found["notice"]))
    assert "event=hold" not in daemon.log


@pytest.mark.parametrize("part", ["nozzle", "bed"])
def test_a_heater_switched_on_by_somebody_else_while_hands_may_be_in_holds_at_once(
    daemon: Daemon, hands: Path, part: str
):
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.until("bench", lambda found: found["prompt"])
    at_screen(hands, "heat", part, 55)
    held = daemon.until("bench", lambda found: found["standing"] == "holding")
    assert f"somebody else heated the {part} to 55 °C" in str(held["hold"])
    assert at_screen(hands, "targets_c") == [0, 0]
    assert daemon.log.count("event=hold") == 1
