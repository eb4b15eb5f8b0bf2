"""The log: one line an event, whatever is in it, and never in the way."""

import os
import shlex
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from a_place import A_PLACE

from hostctl.daemon.log.event_log import EventLog, Level, line_of
from hostctl.daemon.log.fault_log import logged_faults_kept
from hostctl.daemon.log.news_log import NewsLog
from hostctl.news import TrialMarked
from hostctl.observers import Observers

NOON = datetime(2031, 5, 6, 12, 0, tzinfo=UTC)


@pytest.fixture
def pipe():
    reading, writing = os.pipe()
    yield reading, writing
    os.close(reading)
    os.close(writing)


def log_to(fd: int, *, journal: bool = False) -> EventLog:
    return EventLog(fd, lambda: NOON, journal=journal)


def test_an_event_is_one_line_of_pairs(pipe):
    log_to(pipe[1]).say("hold", Level.WARNING, machine="bench", reason="the cable is out", run=None)
    line = os.read(pipe[0], 4096).decode()
    said = 'level=warning event=hold machine=bench reason="the cable is out"'
    assert line == f"time=2031-05-06T12:00:00Z {said}\n"


def test_for_the_journal_a_priority_stands_in_place_of_the_time(pipe):
    log_to(pipe[1], journal=True).say("failed", Level.FAULT, why="x")
    assert os.read(pipe[0], 4096) == b"<3>event=failed why=x\n"


@pytest.mark.parametrize(
    "value", ["two\nlines", 'a "quoted" one', "back\\slash", "\x1b[2Jclears", "=", "é", "a\x00b"]
)
def test_no_value_can_forge_a_line_or_a_pair(value: str):
    line = line_of({"event": "refused", "reason": value, "last": 1})
    assert line.isprintable()
    words = shlex.split(line)
    assert words[0] == "event=refused"
    assert words[1].startswith("reason=")
    assert words[2:] == ["last=1"]


def test_a_long_value_is_cut():
    assert len(line_of({"reason": "x" * 100_000})) < 500


@pytest.mark.parametrize(
    ("whole_block", "said"),
    [
        (True, 'event=block-begun-again machine=bench block=4 reason="zero lost"'),
        (False, 'event=trial-marked machine=bench trial=2 mark=void reason="zero lost"'),
    ],
)
def test_a_block_begun_again_is_not_told_as_one_trial(pipe, whole_block: bool, said: str):
    place = replace(A_PLACE, block=4, trial=2)
    marked = TrialMarked(place=place, mark="void", reason="zero lost", whole_block=whole_block)
    NewsLog(log_to(pipe[1], journal=True), "bench").note(marked)
    assert os.read(pipe[0], 4096).decode() == f"<6>{said}\n"


@pytest.mark.slow
def test_a_log_that_nobody_reads_stops_nothing_and_says_what_was_lost(pipe):
    log = log_to(pipe[1], journal=True)
    for number in range(100_000):
        log.say("reading", reading=number)
    os.read(pipe[0], 1 << 20)
    log.say("ready")
    *_, counted, last = os.read(pipe[0], 1 << 20).decode().splitlines()
    assert counted.startswith("<4>event=log dropped=")
    assert last == "<6>event=ready"


def test_a_closed_log_is_no_error():
    reading, writing = os.pipe()
    os.close(reading)
    log_to(writing).say("ready")
    os.close(writing)


@pytest.mark.observer_may_fail
def test_an_observer_that_fails_is_kept_in_the_fault_log_and_told_in_a_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setenv("HOSTCTL_DATABASE", str(tmp_path / "hostctl.db"))
    told: list[str] = []
    observers: Observers[[]] = Observers()
    observers.add(lambda: 1 / 0)

    with logged_faults_kept(told.append):
        observers.tell()
    observers.tell()  # nobody keeps it any more

    log = tmp_path / "hostctl-faults.log"
    assert told == [f"hostctl: a fault of its own (ZeroDivisionError). Please report {log}."]
    assert log.read_text().count("ZeroDivisionError") == 1
