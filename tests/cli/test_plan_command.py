"""`hostctl plan` as a user has it."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping

import pytest

Hostctl = Callable[..., "subprocess.CompletedProcess[str]"]


def test_without_a_question_all_three_are_answered(hostctl_here: Hostctl):
    done = hostctl_here("plan")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("To start from: 19 trials of each method")
    assert "Ask closer: hostctl plan --know-within 20" in done.stdout


def test_several_questions_are_answered_in_turn(hostctl_here: Hostctl):
    words = ["--know-within", "20", "--see-ratio", "2", "--claim", "0.05", "--expected-sd", "0.015"]
    found = json.loads(hostctl_here("plan", *words, "--json").stdout)
    assert [found[part]["trials"] for part in ("know", "see", "prove")] == [49, 20, 19]
    assert found["by_run"] is found["overview"] is None


def test_a_claim_alone_is_answered_for_several_guesses(hostctl_here: Hostctl):
    said = " ".join(hostctl_here("plan", "--claim", "0.05").stdout.split())
    assert said.startswith("That depends on the spread:")
    assert "Name your guess: --expected-sd" in said


@pytest.mark.slow
def test_only_a_terminal_is_asked_for_patience(own_env: dict[str, str]):
    words = ["plan", "--see-ratio", "4", "--expected-sd", "0.005"]
    program = [sys.executable, "-m", "hostctl", *words]
    screen, terminal = os.openpty()
    shown = subprocess.run(
        program, env=own_env, stdout=subprocess.PIPE, stderr=terminal, check=True
    )
    os.close(terminal)
    said = os.read(screen, 1000).decode().split("\r\n")
    os.close(screen)
    assert said == ["Thousands of studies are simulated; that takes some seconds.", ""]
    piped = subprocess.run(program, env=own_env, capture_output=True, check=True)
    assert (piped.stdout, piped.stderr) == (shown.stdout, b"")


def test_a_terminal_without_utf_8_gets_ascii(hostctl: Hostctl, own_env: dict[str, str]):
    own_env |= {"PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}
    done = hostctl("plan", "--see-ratio", "2")
    assert done.returncode == 0, done.stderr
    assert done.stdout.isascii()
    assert "?" not in done.stdout


@pytest.mark.slow
def test_a_run_brings_its_spreads_and_says_never_where_that_is_so(
    hostctl: Hostctl, hostctl_here: Hostctl, small_study: str
):
    ran = hostctl("run", small_study, "--machine", "sim-220", "--simulated-people", "--seed", "4")
    assert ran.returncode == 0
    said = hostctl_here("plan", "--run", "1", "--claim", "0.5").stdout
    assert said.startswith("If the spreads are what run 1 found,")
    found = json.loads(hostctl_here("plan", "--run", "1", "--claim", "0.0001", "--json").stdout)
    (spread,) = found["by_run"]["spreads"]
    assert spread["method"] == "paper-slip"
    assert spread["trials_at_upper"] is None
    assert "can't be proven" in spread["why_no_trials_at_upper"]
    assert hostctl_here("plan", "--run", "1").stderr.startswith(
        "run 1: its study names no tolerance"
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--know-within", "0"], "--know-within is 0, must be from 1 to 99"),
        (["--know-within", "0.2"], "Did you mean 20 (per cent)?"),
        (["--know-within", "0.05"], "Did you mean 5 (per cent)?"),
        (["--know-within", "nan"], "--know-within: 'nan' is not a number"),
        (["--know-within", "20%"], "--know-within: '20%' is not a number"),
        (["--see-ratio", "1"], "--see-ratio 1 asks to tell two equal spreads apart"),
        (["--see-ratio", "1.0001"], "--see-ratio 1.0001: more than 100,000 would be needed"),
        (["--see-ratio", "1e300"], "--see-ratio is 1e+300, must be from 0.001 to 1000"),
        (["--claim", "-0.05"], "--claim is -0.05, must be from 0.000001 to 1000"),
        (["--claim", "inf"], "--claim: 'inf' is not a number"),
        (["--claim", "\uff11"], "is not a number"),
        (["--claim", "1_0"], "is not a number"),
        (["--claim", "0.05", "--expected-sd", "1e-300"], "--expected-sd is 1e-300, must be"),
        (["--expected-sd", "0.01"], "--expected-sd needs --claim or --see-ratio"),
        (["--see-ratio", "2", "--rig-sd", "0.01"], "--rig-sd needs --expected-sd"),
        (["--claim", "0.05", "--rig-trials", "9"], "--rig-trials needs --rig-sd"),
        (["--see-ratio", "2", "--resolution", "0"], "--resolution is 0, must be from 0.000001 to"),
        (["--claim", "0.05", "--bias", "0.01"], "--bias needs --expected-sd"),
        (["--claim", "0.05", "--expected-sd", "0.01", "--bias", "1e9"], "--bias is 1e+09, must be"),
        (["--power", "1"], "--power is 1, must be from 0.05 to 0.9999"),
        (["--confidence", "0.5"], "--confidence is 0.5, must be from 0.501 to 0.9999"),
        (["--trial-seconds", "1e300"], "--trial-seconds is 1e+300, must be from"),
    ],
)
def test_what_makes_no_sense_is_code_2_in_one_line(
    hostctl_here: Hostctl, words: list[str], said: str
):
    done = hostctl_here("plan", *words)
    assert done.returncode == 2, done.stderr
    assert done.stderr.count("\n") == 1
    assert said in done.stderr


def test_a_decimal_comma_is_understood(hostctl_here: Hostctl):
    comma, point = (
        hostctl_here("plan", "--claim", claim, "--expected-sd", sd).stdout
        for claim, sd in (("0,05", "0,015"), ("0.05", "0.015"))
    )
    assert comma == point != ""


def test_a_spread_right_at_the_limit_takes_more_trials_than_is_sensible(hostctl_here: Hostctl):
    said = hostctl_here("plan", "--claim", "0.05", "--expected-sd", "0.0255")
    assert said.returncode == 0
    assert said.stdout.startswith("No sensible number of trials proves it: with that spread")
    assert "more than 100,000 would be" in said.stdout


def test_a_run_that_is_not_there_is_code_7(hostctl_here: Hostctl):
    assert hostctl_here("plan", "--run", "3").returncode == 7


def test_planning_without_a_run_loads_neither_numpy_nor_a_database(own_env: Mapping[str, str]):
    program = (
        "import sys; from hostctl.cli.main import main; main(['plan', '--see-ratio', '2']); "
        "sys.exit(bool({'numpy', 'sqlite3'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, env=own_env, check=False
    )
    assert done.returncode == 0
