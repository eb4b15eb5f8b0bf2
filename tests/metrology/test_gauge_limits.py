"""A comparison of two gauges holds its promise on simulated ones; `tests/data/axis.md` has more."""

import math

import pytest
from gauge_simulation import CASES, misses


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(CASES))
def test_limits_hold_on_simulated_gauges(name: str):
    """Wrong in 5 % at most, failing beyond 3.5 simulation errors."""
    times = 400
    most = times * 0.05 + 3.5 * math.sqrt(times * 0.05 * 0.95)
    assert max(misses(CASES[name], times, seed=99)) <= most
