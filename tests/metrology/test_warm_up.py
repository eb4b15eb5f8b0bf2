"""Warm-up, and the counting of pairs that rise."""

import itertools

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.ranks import rises_less_falls
from hostctl.metrology.oddities.warm_up import warm_up

SEED = 11


def rounded_walk(n: int, seed: int) -> np.ndarray:
    return np.round(np.random.default_rng(seed).normal(size=n))


@pytest.mark.parametrize(("n", "seed"), [(5, 1), (40, 2), (333, 3)])
def test_pairs_are_counted_without_looking_at_each(n, seed):
    y = rounded_walk(n, seed)
    slow = sum(int(np.sign(b - a)) for a, b in itertools.combinations(y, 2))
    assert rises_less_falls(y) == slow


def share_of_orders(values: np.ndarray) -> float:
    """How rare the first few of nine are, over every choice of the first four, counted out."""
    scales = 1.0 / np.sqrt(np.arange(1, 5) * np.arange(8, 4, -1))
    orders = np.array(list(itertools.permutations(values - values.mean(), 4)))
    found = np.abs(orders.cumsum(axis=1) * scales).max(axis=1)
    return float(np.mean(found >= found[0] * (1 - 1e-12)))  # the first is the order as it stands


@pytest.mark.parametrize(
    ("sample", "differs_in"),
    [
        ([9.0, 7.0, 8.5, 1.0, 2.0, 0.5, 1.5, 3.0, 2.5], "spread"),
        ([4.0, 3.9, 4.1, 1.0, 2.9, 1.9, 3.0, 1.1, 2.0], "level"),
    ],
)
def test_the_p_value_of_a_warm_up_is_that_of_all_orders(sample, differs_in):
    """By exact reasoning; the simulated share within three standard errors."""
    values = np.array(sample)
    level, spread = share_of_orders(values), share_of_orders(np.abs(values - np.median(values)))
    least = min(level, spread)
    found = warm_up(sample, np.random.default_rng(SEED), shuffles=9999)
    assert found.differs_in == differs_in == ("level" if level < spread else "spread")
    assert found.p_value / 2 == pytest.approx(least, abs=3 * (least / 10_000) ** 0.5 + 1e-4)


def test_a_warm_up_in_level_is_seen_and_named():
    rng = np.random.default_rng(SEED)
    readings = np.round(rng.normal(0.0, 1.0, 25) + np.where(np.arange(25) < 4, 5.0, 0.0))
    found = warm_up(readings, rng)
    assert (found.trials, found.differs_in) == (4, "level")
    assert found.n == 25


def test_a_warm_up_in_spread_is_seen_and_named():
    rng = np.random.default_rng(SEED)
    signs = np.where(np.arange(40) % 2, 1.0, -1.0)
    readings = rng.normal(0.0, 1.0, 40) + signs * np.where(np.arange(40) < 4, 8.0, 0.0)
    found = warm_up(readings, rng)
    assert (found.trials, found.differs_in) == (4, "spread")


@pytest.mark.slow
@pytest.mark.parametrize(("n", "sigma"), [(10, 0.3), (50, 2.0)])
def test_warm_up_is_seldom_seen_where_there_is_none(n, sigma):
    rng = np.random.default_rng([SEED, n])
    blocks = [np.round(rng.normal(rng.uniform(), sigma, n)) for _ in range(250)]
    found = [warm_up(block, rng, shuffles=99) for block in blocks]
    alarms = sum(0 if isinstance(f, NotYet) else f.trials > 0 for f in found)
    assert alarms / len(found) <= 0.05 + 3 * 0.0138  # three standard errors


def test_a_million_readings_can_be_searched_for_a_warm_up():
    found = warm_up(rounded_walk(1_000_000, SEED), np.random.default_rng(SEED), shuffles=99)
    assert found.trials == 0


def test_alike_readings_show_no_warm_up_and_few_or_bad_ones_are_refused():
    rng = np.random.default_rng(SEED)
    assert isinstance(warm_up([0.1] * 12, rng), NotYet)
    for bad in ([], [1.0], [*[0.1] * 12, np.nan], [*[0.1] * 12, -np.inf]):
        with pytest.raises(NotEnough):
            warm_up(bad, rng)
