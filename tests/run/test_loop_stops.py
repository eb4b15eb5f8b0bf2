"""When a loop stops: known well enough, out of its limits, long enough; gone through on paper."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from itertools import count
from math import sqrt
from random import Random

import pytest
from bench_files import machine_file
from going import Going, a_reading
from loop_bench import looping
from workshop import EPOCH

from hostctl.config.machine import Probe
from hostctl.records import Reading
from hostctl.run.procedures.looping.verdicts import found_in
from hostctl.run.procedures.procedure import Decision, Finished, Next, StandStill, Trial

STEP_MM = 0.0025
"""What the probe's heights are rounded to."""


def touches(
    sigma_mm: float, seed: int, at: Callable[[int], float] = lambda n: 0.0
) -> Iterator[Reading]:
    """As a probe gives them, ten seconds apart: `at` is where the bed is at each."""
    chance = Random(seed)
    for n in count():
        value_mm = round((at(n) + chance.gauss(0.0, sigma_mm)) / STEP_MM) * STEP_MM
        taken_at = EPOCH + n * timedelta(seconds=10)
        yield replace(a_reading(value_mm), resolution_mm=STEP_MM, source="probe", taken_at=taken_at)


def going(loop: dict[str, object], **changes: object) -> Going:
    machine = machine_file(probe=Probe(resolution_mm=STEP_MM))
    gone = Going(looping(loop, **changes), machine, own_zero=True)
    gone.progress.homed()
    return gone


def go_on(gone: Going, readings: Iterator[Reading], most: int = 100_000) -> Next:
    """Until it stops or stands still; what is decided on the way is kept."""
    for _ in range(most):
        upcoming = gone.procedure.next(gone.progress.so_far)
        match upcoming:
            case Trial():
                gone.progress.keep(gone.place(upcoming), next(readings))
            case Decision():
                gone.progress.decide(upcoming)
            case StandStill() | Finished():
                return upcoming
    return upcoming


def found(gone: Going, verdict: str) -> list[dict[str, object]]:
    every = [found_in(decision) for decision in gone.progress.so_far.decisions]
    return [dict(each) for each in every if each["verdict"] == verdict]


def test_it_stops_once_the_spread_is_known_and_says_how_well():
    gone = going({"known_to": 0.2}, trials=2000)
    finished = go_on(gone, touches(0.004, seed=1))
    assert isinstance(finished, Finished)
    assert finished.reason == "the spread is known well enough"
    (last,) = found(gone, "known")
    assert last["half_width"] <= 0.2
    assert last["low_mm"] <= 0.004 <= last["high_mm"]
    assert last["n"] == gone.progress.trials_done < 2000
    assert last["look"] <= last["looks"]
    looks = [*found(gone, "goes-on"), last]
    assert [look["look"] for look in looks] == list(range(1, len(looks) + 1))
    assert all(look["half_width"] > 0.2 for look in looks[:-1])


def test_a_point_whose_spread_is_known_is_left_and_the_next_one_is_touched():
    gone = going({"known_to": 0.3}, trials=1000, points=["front-left", "back-left"])
    go_on(gone, touches(0.004, seed=2))
    known = found(gone, "known")
    assert {look["point"] for look in known} == {"front-left", "back-left"}
    assert gone.progress.trials_done == sum(look["n"] for look in known)


def test_from_two_sides_each_has_to_be_known():
    gone = going({"known_to": 0.3, "sides": True}, trials=1000)
    go_on(gone, touches(0.004, seed=3, at=lambda n: 0.02 * (n % 2)))
    assert {look["side"] for look in found(gone, "known")} == {"left", "right"}


def test_levels_share_the_risk_of_what_is_stated():
    """The interval, of the same touches, is wider where there are others beside it."""
    widths = []
    for sides, levels in ((False, 1), (True, 2)):
        gone = going({"known_to": 0.05, "sides": sides}, trials=40 * levels)
        readings = touches(0.004, seed=8)
        go_on(gone, (one for each in readings for one in [each] * levels))
        look = found(gone, "goes-on")[0]
        assert (look["levels"], look["looks"], look["n"]) == (levels, 1, 40)
        widths.append(look["high_mm"] - look["low_mm"])
    assert widths[0] < widths[1]


@pytest.mark.parametrize(
    ("at", "says"),
    [
        (lambda n: 0.0005 * n, "drift_mm"),
        (lambda n: 0.012 * (-1) ** n, "likeness"),
    ],
    ids=["drift", "neighbours"],
)
def test_while_drift_shows_or_neighbours_are_alike_nothing_is_stated(at, says: str):
    gone = going({"known_to": 0.3}, trials=300)
    finished = go_on(gone, touches(0.002, seed=4, at=at))
    assert isinstance(finished, Finished)
    assert finished.reason == "all touches are done"
    assert found(gone, "known") == []
    looks = found(gone, "goes-on")
    assert looks
    assert all(says in look and "s_mm" not in look for look in looks)


def test_a_touch_beyond_its_limits_holds_once_and_the_limits_are_set_anew():
    gone = going({"control_limit": True}, trials=200)
    readings = touches(0.003, seed=5, at=lambda n: 0.1 if n >= 120 else 0.0)
    held = go_on(gone, readings)
    assert isinstance(held, StandStill)
    assert "Touch 121 at front-left" in held.reason
    assert gone.progress.trials_done == 121
    assert go_on(gone, readings) == held
    gone.progress.stood_still()
    assert isinstance(go_on(gone, readings), Finished)
    assert len(found(gone, "held")) == 1
    assert gone.progress.trials_done == 200


def test_a_loop_in_which_nothing_happens_is_not_held():
    gone = going({"control_limit": True}, trials=3000)
    assert isinstance(go_on(gone, touches(0.004, seed=6)), Finished)


def test_standing_still_is_no_part_of_how_long_it_went_on():
    gone = going({"longest_s": 600.0}, trials=1000)
    readings = touches(0.004, seed=7)
    go_on(gone, readings, most=31)
    for _ in range(1000):
        next(readings)
    gone.progress.stood_still()
    finished = go_on(gone, readings)
    assert isinstance(finished, Finished)
    assert found(gone, "long-enough")[0]["went_on_s"] == 600.0
    assert gone.progress.trials_done == 62


LOOPS = 300


@pytest.mark.slow
def test_of_hundreds_of_loops_that_stop_by_themselves_as_many_know_the_spread_as_is_said():
    """The same as `tests/metrology` does with thousands, but through the procedure: at most 5 % of
    the intervals they stop with miss the truth; more than 3.5 standard errors beyond fails."""
    missed = 0
    for seed in range(LOOPS):
        sigma_mm = Random(f"spread {seed}").choice([0.0015, 0.003, 0.006])
        gone = going({"known_to": 0.25}, trials=1000)
        go_on(gone, touches(sigma_mm, seed))
        stated = found(gone, "known")
        missed += bool(stated) and not stated[0]["low_mm"] <= sigma_mm <= stated[0]["high_mm"]
    assert missed / LOOPS <= 0.05 + 3.5 * sqrt(0.05 * 0.95 / LOOPS)
