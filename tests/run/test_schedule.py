"""The schedule is balanced, seeded and complete; progress goes by it whatever happened."""

import itertools
from collections import Counter
from dataclasses import replace

import pytest
from a_place import A_PLACE
from bench_files import machine_file
from going import Going, a_reading, schedule_for
from hypothesis import given
from hypothesis import strategies as st
from workshop import probe_loop, rig_check, study_file

from hostctl.config.study import Cycle, Method, TurnRange
from hostctl.records import Place
from hostctl.run.procedures.turning_away import turn_away_deg

METHODS = [Method(name=name, instruction="Do it.") for name in ("paper-slip", "feeler-gauge")]
POINTS = ["front-left", "front-right", "back-left"]
BIG = {"methods": METHODS, "operators": ["volunteer-a", "volunteer-b"], "points": POINTS}

orders = st.sampled_from(["blocked", "mixed"])
seeds = st.integers(0, 2**32)


@given(order=orders, seed=seeds, trials=st.integers(1, 12))
def test_every_block_has_each_of_its_trials_once_and_its_zero_first(order, seed, trials):
    study = study_file(**BIG, order=order, trials=trials)
    schedule = schedule_for(study, seed)
    seen: dict[int, list[int]] = {}
    for trial in schedule:
        seen.setdefault(trial.block, []).append(trial.trial)
    assert list(sorted(seen)) == list(range(1, 13))
    assert all(trials_of == list(range(trials + 1)) for trials_of in seen.values())
    parts = Counter((trial.method, trial.operator, trial.point) for trial in schedule)
    assert set(parts.values()) == {trials + 1}
    assert len(parts) == 2 * 2 * 3


@given(order=orders, seed=seeds)
def test_the_same_seed_gives_the_same_schedule(order, seed):
    study = study_file(**BIG, order=order)
    one, same = (schedule_for(study, seed) for _ in range(2))
    assert one == same


def test_another_seed_gives_another_order():
    study = study_file(**BIG)
    orders_seen = {
        tuple(trial.point + trial.method for trial in schedule_for(study, s)) for s in range(20)
    }
    assert len(orders_seen) > 15


@given(seed=seeds)
def test_blocked_keeps_a_block_together(seed):
    schedule = schedule_for(study_file(**BIG), seed)
    blocks = [trial.block for trial in schedule]
    assert blocks == sorted(blocks)


def test_mixed_leaves_no_block_together():
    study = study_file(**BIG, order="mixed", trials=10)
    blocks = [trial.block for trial in schedule_for(study, 7)]
    changes = sum(one != other for one, other in itertools.pairwise(blocks))
    assert changes > len(blocks) / 2


@pytest.mark.parametrize(
    ("study", "own_zero", "first"),
    [
        (study_file(), False, 0),
        (study_file(reference="previous"), False, 0),
        (study_file(reference="datum"), False, 0),
        (study_file(reference="datum"), True, 1),
        (study_file(), True, 0),
        (rig_check(), False, 0),
        (probe_loop(), True, 1),
    ],
)
def test_a_block_has_a_zero_unless_the_gauges_own_is_the_datum(study, own_zero, first):
    going = Going(study, machine_file(), own_zero=own_zero)
    assert [going.keep_next().trial for _ in range(4 - first)] == list(range(first, 4))


# ------------------------------------------------------------------ the turn away


def place(trial: int = 1, attempt: int = 1, block: int = 1, round_: int = 1) -> Place:
    return replace(A_PLACE, block=block, round=round_, trial=trial, attempt=attempt, trials_total=3)


@given(
    seed=seeds,
    trial=st.integers(0, 50),
    least=st.integers(10, 360),
    span=st.integers(0, 200),
)
def test_the_turn_is_in_the_studys_range_and_depends_on_the_place_alone(seed, trial, least, span):
    most = min(least + span, 360)
    study = study_file(cycle=Cycle(turn_away=TurnRange(least_deg=least, most_deg=most)))
    turn = turn_away_deg(study, seed, place(trial))
    assert least <= turn <= most
    assert turn == turn_away_deg(study, seed, place(trial))


def test_turns_are_spread_evenly_over_the_range():
    """60 to 180 in steps of 15 is nine choices; 9000 draws give about 1000 of each."""
    counts = Counter(turn_away_deg(study_file(), 7, place(trial)) for trial in range(9000))
    assert sorted(counts) == list(range(60, 181, 15))
    # Chi-square with 8 degrees of freedom: below 26.12 in 999 of 1000 (handbook table).
    assert sum((count - 1000) ** 2 / 1000 for count in counts.values()) < 26.12


def test_the_next_turn_can_not_be_told_from_the_last():
    """Lag-1 correlation of 2000 turns: within 3 / sqrt(n) of none."""
    turns = [turn_away_deg(study_file(), 7, place(trial)) for trial in range(2000)]
    mean = sum(turns) / len(turns)
    off = [turn - mean for turn in turns]
    lag_1 = sum(a * b for a, b in itertools.pairwise(off)) / sum(a * a for a in off)
    assert abs(lag_1) < 3 / len(turns) ** 0.5


def test_a_study_that_turns_nothing_away_has_no_turn():
    assert turn_away_deg(study_file(cycle=Cycle(turn_away=None)), 7, place()) == 0


# ------------------------------------------------------------------ progress


def small_study(**changes: object) -> Going:
    study = study_file(**(BIG | {"points": ["front-left"], "operators": ["volunteer-a"]} | changes))
    return Going(study, machine_file())


def test_kept_trials_come_one_after_the_other_until_all_are_done():
    going = small_study()
    places = [going.keep_next() for _ in range(8)]
    assert [(p.block, p.trial) for p in places] == [
        (block, trial) for block in (1, 2) for trial in range(4)
    ]
    assert [p.trials_done for p in places] == [0, 0, 1, 2, 3, 3, 4, 5]
    assert going.next() is None
    assert (going.progress.trials_done, going.progress.trials_total) == (6, 6)


def test_a_void_trial_comes_again_as_another_attempt():
    going = small_study()
    going.keep_next()
    at = going.keep_next()
    going.progress.void(at)
    again = going.keep_next()
    assert (again.trial, again.attempt) == (at.trial, at.attempt + 1)


def test_a_block_begun_again_is_a_new_round_and_leaves_the_others():
    going = small_study()
    for _ in range(6):
        going.keep_next(0.5)
    assert [trial.block for trial in going.begun_blocks()] == [2]
    going.progress.begin_again(2)
    again = going.keep_next()
    assert (again.block, again.round, again.trial, again.attempt) == (2, 2, 0, 1)
    assert going.begun_blocks() != []


@given(order=orders, chance=st.randoms(use_true_random=False))
def test_the_next_trial_is_the_first_one_open_whatever_was_said(order, chance):
    study = study_file(**BIG, order=order)
    schedule = schedule_for(study, 7)
    going, closed = Going(study, machine_file()), set[tuple[int, int]]()
    for word in chance.choices(["keep", "skip", "void", "block"], weights=[20, 4, 4, 1], k=80):
        trial = going.next()
        assert trial == next((t for t in schedule if (t.block, t.trial) not in closed), None)
        assert going.progress.trials_done == sum(number > 0 for _, number in closed)
        at = going.place(trial or schedule[-1])
        match word:
            case "keep":
                going.progress.keep(at, a_reading(0.0))
                closed.add((at.block, at.trial))
            case "skip":
                going.progress.skip(at)
                closed.add((at.block, at.trial))
            case "void":
                block, number = chance.choice(sorted(closed) or [(at.block, at.trial)])
                going.progress.void(replace(at, block=block, trial=number))
                closed.discard((block, number))
            case "block":
                going.progress.begin_again(at.block)
                closed = {spot for spot in closed if spot[0] != at.block}


def test_the_zero_of_a_block_is_its_trial_0_of_this_round():
    going = small_study()
    zero = going.keep_next(0.31)
    assert going.progress.zero_mm(zero) == 0.31
    going.progress.begin_again(1)
    assert going.progress.zero_mm(zero) is None
