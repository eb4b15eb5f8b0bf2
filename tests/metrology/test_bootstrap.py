"""The bootstrap of a standard deviation on counts against numpy and scipy's own bootstrap."""

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.rounded.bootstrap import bootstrap_spread
from hostctl.metrology.rounded.law.bin_counts import count_bins

READINGS = 0.01 * np.array([0, 2, -1, 1, 1, 3, -2, 0, 1, 4, 0, -1])


def test_the_spread_is_that_of_the_readings():
    """numpy's std, divisor n - 1."""
    bins = count_bins(READINGS, resolution=0.01)
    found = bootstrap_spread(bins, resamples=99, rng=np.random.default_rng(1))
    assert found.value == pytest.approx(READINGS.std(ddof=1), rel=1e-12)
    assert (found.n, found.interval.confidence) == (12, 0.95)


def test_the_percentile_interval_is_the_reference_librarys():
    """scipy.stats.bootstrap, percentile method; both with 20,000 resamples, 2 % for their noise."""
    bins = count_bins(READINGS, resolution=0.01)
    found = bootstrap_spread(bins, resamples=20_000, rng=np.random.default_rng(2), confidence=0.9)
    oracle = stats.bootstrap(
        (READINGS,),
        lambda sample, axis: np.std(sample, ddof=1, axis=axis),
        confidence_level=0.9,
        method="percentile",
        n_resamples=20_000,
        rng=np.random.default_rng(3),
    ).confidence_interval
    assert (found.low, found.high) == pytest.approx((oracle.low, oracle.high), rel=0.02)


def test_two_readings_are_the_fewest():
    two = count_bins([0.0, 1.0], resolution=1.0)
    assert bootstrap_spread(two, resamples=9, rng=np.random.default_rng(1)).value > 0.0
    one = count_bins([0.0], resolution=1.0)
    with pytest.raises(NotEnough, match=Why.TOO_FEW):
        bootstrap_spread(one, resamples=9, rng=np.random.default_rng(1))
