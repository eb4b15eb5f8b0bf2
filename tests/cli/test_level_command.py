"""`hostctl level` as a user has it."""

import json
import signal
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from hostctl.config.find import SHIPPED
from hostctl.store.reading import list_runs, read_record
from hostctl.store.rows import LEVELLED

Done = subprocess.CompletedProcess[str]
Hostctl = Callable[..., Done]

HEIGHTS = """x_mm,y_mm,height_mm
30,30,0.10
190,30,0.25
30,190,-0.10
190,190,0.05
110,110,0.09
"""


@pytest.fixture
def database(own_env: Mapping[str, str]) -> Path:
    return Path(own_env["HOSTCTL_DATABASE"])


def levelled_in(database: Path, run: int) -> list[dict]:
    events = read_record(database, run).events
    return [json.loads(event.data) for event in events if event.kind == LEVELLED]


def test_a_table_of_heights_is_said_in_turns(hostctl_here: Hostctl, tmp_path: Path):
    table = tmp_path / "heights.csv"
    table.write_text(HEIGHTS)
    done = hostctl_here("level", str(table), "--machine", "sim-220", "--within", "0.05")
    assert done.returncode == 0, done.stderr
    assert "No: over what was measured it is tilted by 0.35 mm" in done.stdout
    assert "[C] back-left: 90° clockwise, a quarter of a turn" in done.stdout


def test_a_table_needs_no_machine_and_a_run_does(hostctl_here: Hostctl, tmp_path: Path):
    table = tmp_path / "heights.csv"
    table.write_text(HEIGHTS)
    assert "turned" not in hostctl_here("level", str(table)).stdout.splitlines()[0]
    refused = hostctl_here("level")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "--machine is missing" in refused.stderr


def test_a_table_and_two_screws_are_levelled_about_the_corner_that_is_kept(
    hostctl_here: Hostctl, tmp_path: Path
):
    """By hand: the corner stands at -0.10, the screws at 0.10 and 0.25; 0.7 mm a turn."""
    table, machine = tmp_path / "heights.csv", tmp_path / "two.yaml"
    table.write_text("x_mm,y_mm,height_mm\n40,40,0.10\n260,40,0.25\n150,260,-0.10\n")
    lines = (SHIPPED / "machines" / "workshop-tri.yaml").read_text().splitlines()
    third = next(n for n, line in enumerate(lines) if "name: back," in line and "pitch" in line)
    machine.write_text("\n".join(lines[:third] + lines[third + 1 :]))
    words = ("level", str(table), "--machine", str(machine))
    assert "only about a corner that is fixed" in hostctl_here(*words).stderr
    done = hostctl_here(*words, "--keep", "x150 y260")
    assert done.returncode == 0, done.stderr
    assert "front-left: 103° anticlockwise" in done.stdout
    assert "front-right: 180° anticlockwise" in done.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("rig-check", "--machine", "sim-220"), "is a study of kind rig-check, which levels"),
        (("--machine", "sim-220", "--keep", "nowhere"), "'nowhere' is no screw and no point"),
        (("--machine", "sim-220", "--within=-1"), "level.within_mm: must be above 0"),
        (("--machine", "sim-220", "--raise", "high"), "'high' is not a number"),
    ],
)
def test_what_can_t_be_levelled_is_said_in_a_line(hostctl_here: Hostctl, words, said):
    done = hostctl_here("level", *words)
    assert done.returncode != 0
    assert said in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.slow
def test_it_levels_says_so_and_keeps_what_the_options_asked(hostctl: Hostctl, database: Path):
    words = ("--machine", "sim-tri", "--simulated-people", "--within", "0.04", "--seed", "3")
    done = hostctl("level", "level-by-probe", *words)
    assert done.returncode == 0, done.stderr
    assert "Is the bed of sim-tri level to within 0.04 mm?" in done.stdout
    (run,) = list_runs(database)
    assert run.complete
    assert "within_mm: 0.04" in run.new.study_text
    assert levelled_in(database, run.run)[-1]["verdict"] in ("within-tolerance", "within-rig")


@pytest.mark.slow
def test_interrupted_it_says_how_to_go_on_and_nothing_is_lost(
    own_env: Mapping[str, str], hostctl: Hostctl, database: Path, tmp_path: Path
):
    machine, study = tmp_path / "fast.yaml", tmp_path / "soon.yaml"
    shipped = SHIPPED / "machines" / "sim-220.yaml"
    machine.write_text(shipped.read_text().replace("dry_cycles: 5", "dry_cycles: 0"))
    text = (SHIPPED / "studies" / "level.yaml").read_text()
    text = text.replace("settle_s: 3.0", "settle_s: 0.0")
    study.write_text(text.replace("countdown_s: 3", "countdown_s: 0"))
    program = [sys.executable, "-m", "hostctl", "level", str(study), "--machine", str(machine)]
    going = subprocess.Popen(
        [*program, "--simulated-people", "--jsonl"],
        env=dict(own_env),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert going.stdout is not None
    for line in going.stdout:
        if '"turn-screw"' in line:
            break
    going.send_signal(signal.SIGINT)
    _, said = going.communicate(timeout=60)
    assert "Go on with: hostctl resume 1" in said
    kept = len(read_record(database, 1).readings)
    assert kept >= 10
    done = hostctl("resume", "1", "--simulated-people")
    assert done.returncode == 0, done.stderr
    (run,) = list_runs(database)
    assert run.complete
    assert len(read_record(database, 1).readings) >= kept + 10
    assert "measured anew" in " ".join(levelled_in(database, 1)[1]["noticed"])
