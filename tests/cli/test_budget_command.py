"""`hostctl budget` as a user has it: the answer first, and mistakes in one line each."""

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

Hostctl = Callable[..., "subprocess.CompletedProcess[str]"]
SMALL = "measurand: height\ncontributions:\n  - other: {name: a, normal: 0.01}\n"
RIG_CHECK = """\
study: check
title: Nothing adjusted
kind: rig-check
points: [front-left]
trials: 20
cycle: {settle_s: 0, countdown_s: 0, turn_away: null}
"""
AT_SIM = ("--machine", "sim-220", "--simulated-people", "--seed", "3")


@pytest.fixture
def small(tmp_path: Path) -> str:
    (tmp_path / "small.yaml").write_text(SMALL)
    return "small.yaml"


def test_the_answer_comes_first(hostctl_here: Hostctl, small: str):
    done = hostctl_here("budget", small)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("The height is known to ±0.020 mm (k = 1.96, 95 %).\n")


def test_formulas_come_when_asked_for(hostctl_here: Hostctl, small: str):
    assert "Standard uncertainty u of each" in hostctl_here("budget", small, "--explain").stdout


def test_the_same_seed_gives_the_same_figures(hostctl_here: Hostctl, small: str):
    first, second = (hostctl_here("budget", small, "--json", "--seed", "7").stdout for _ in "ab")
    assert json.loads(first)["simulation"]["seed"] == 7
    assert first == second


@pytest.mark.slow
def test_the_rigs_spread_comes_from_its_check(
    hostctl: Hostctl, hostctl_here: Hostctl, tmp_path: Path
):
    (tmp_path / "rig.yaml").write_text(
        "measurand: height\ncontributions:\n  - rig_repeatability: {from_run: 1}\n"
    )
    (tmp_path / "check.yaml").write_text(RIG_CHECK)
    assert hostctl("run", "check.yaml", *AT_SIM).returncode == 0
    found = json.loads(hostctl_here("budget", "rig.yaml", "--json").stdout)
    assert found["contributions"][0]["df"] == 20
    assert 0.002 < found["propagation"]["u"] < 0.01  # near what the simulated rig was given


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["indicator-on-haed"], 3, "Did you mean 'indicator-on-head'?"),
        (["none.yaml"], 3, "none.yaml: can't be read"),
        (["small.yaml", "--seed", "-1"], 2, "--seed: '-1' is no whole number"),
        (["bad.yaml"], 3, "bad.yaml:3: contributions.1.resolution.step_mm: must be above 0"),
        (["crossed.yaml"], 3, "crossed.yaml: height: the model gives no finite value"),
        (["tiny.yaml"], 3, "tiny.yaml: its numbers are too large or too small to combine"),
        (["huge.yaml"], 3, "huge.yaml: height: the model gives no finite value"),
        (["rigged.yaml"], 7, "Record a run first"),
    ],
)
def test_what_is_wrong_is_one_line(
    hostctl_here: Hostctl, small: str, tmp_path: Path, words: list[str], code: int, said: str
):
    head = "measurand: height\ncontributions:\n"
    (tmp_path / "bad.yaml").write_text(f"{head}  - resolution: {{step_mm: -1}}\n")
    (tmp_path / "tiny.yaml").write_text(SMALL.replace("0.01", "1e-300"))
    (tmp_path / "huge.yaml").write_text(SMALL.replace("0.01", "1e300"))
    (tmp_path / "crossed.yaml").write_text(f"model: log(a)\n{SMALL}")
    (tmp_path / "rigged.yaml").write_text(f"{head}  - rig_repeatability: {{from_run: 1}}\n")
    done = hostctl_here("budget", *words)
    assert done.returncode == code, done.stderr
    assert done.stderr.count("\n") == 1
    assert said in done.stderr


@pytest.mark.slow
def test_a_comparison_is_no_rig_check(
    hostctl: Hostctl, hostctl_here: Hostctl, small_study: str, tmp_path: Path
):
    (tmp_path / "rigged.yaml").write_text(
        "measurand: height\ncontributions:\n  - rig_repeatability: {from_run: 1}\n"
    )
    assert hostctl("run", small_study, *AT_SIM).returncode == 0
    done = hostctl_here("budget", "rigged.yaml")
    assert done.returncode == 3
    assert done.stderr.startswith("rigged.yaml:3: from_run: run 1 is a comparison")
