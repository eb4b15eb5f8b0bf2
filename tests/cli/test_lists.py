"""`hostctl runs` and `hostctl ports`: what the lists say, and that they fit the terminal."""

import os
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from hostctl.cli.ports import NO_PORT, described
from hostctl.cli.runs import listed
from hostctl.link.ports_present import PortPresent
from hostctl.store.rows import NewRun, RunSummary

NOON = datetime(2031, 5, 6, 12, tzinfo=UTC)
NEW = NewRun(
    study="three-methods",
    title="Three methods",
    kind="comparison",
    machine="workshop-220",
    reference="first",
    study_text="",
    machine_text="",
    seed=1,
    started_at=NOON,
    program="hostctl",
)
WHY = "ended on terminal; 17 of 60 trials are done"
STOPPED = RunSummary(
    run=12, new=NEW, readings=60, void=0, ended_at=NOON, complete=False, end_reason=WHY
)
RUNS = [STOPPED, replace(STOPPED, run=13, complete=True), replace(STOPPED, run=14, ended_at=None)]


@pytest.mark.parametrize("columns", [60, 80, 100, 200])
def test_the_list_of_runs_fits_and_tells_every_word(columns: int):
    text = listed(RUNS, columns)
    assert max(map(len, text.splitlines())) <= max(columns, 80)
    assert text.split()[-2:] == ["not", "ended"]
    assert all(word in text.split() for word in WHY.split())
    assert "three-methods" in text
    assert "…" not in text


def test_the_longest_names_are_cut_where_they_would_not_fit():
    longest = replace(NEW, study="s" * 40, machine="m" * 40)
    runs = [replace(run, new=longest) for run in RUNS]
    assert max(map(len, listed(runs, 80).splitlines())) <= 80
    assert "s" * 13 + "…" in listed(runs, 80)
    assert "s" * 40 in listed(runs, 140)


def test_into_a_pipe_each_run_is_one_line():
    lines = listed(RUNS, None).splitlines()
    assert len(lines) == 2 + len(RUNS)
    assert lines[2].endswith(f"early: {WHY}")


@pytest.fixture
def device(tmp_path: Path) -> str:
    path = tmp_path / "ttyUSB0"
    path.touch()
    return str(path)


@pytest.mark.parametrize(
    ("description", "line"),
    [
        ("A USB serial board", "/dev/by-name   A USB serial board"),
        ("n/a", "/dev/by-name"),
        ("", "/dev/by-name"),
        ("/dev/by-name", "/dev/by-name"),
    ],
)
def test_a_port_is_told_with_what_is_known_of_it(device: str, description: str, line: str):
    port = PortPresent(name="/dev/by-name", device=device, description=description)
    assert described([port]).splitlines()[0] == line


def test_a_port_that_may_not_be_used_says_what_to_do():
    absent = PortPresent(name="a", device=os.devnull + "-not", description="")
    assert "not permitted: add yourself to the group" in described([absent])


def test_without_a_port_it_says_what_to_look_at():
    assert described([]) == NO_PORT
