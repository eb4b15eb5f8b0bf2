"""Spread of rounded readings, against independent values and exact properties."""

import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ndtr
from scipy.stats import chi2

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.rounded.bootstrap import bootstrap_spread
from hostctl.metrology.rounded.law.bin_counts import count_bins
from hostctl.metrology.rounded.law.score import WIDE, distinct_blocks, score
from hostctl.metrology.rounded.rounding import rounded_spread

# Case J is published (see SOURCE.md beside it).
FILE = Path(__file__).parents[1] / "data" / "rounding" / "censored_normal.json"
CASES = {case["name"]: case for case in json.loads(FILE.read_text(encoding="utf-8"))["cases"]}


def readings_of(name):
    return [float(text) for text in CASES[name]["readings"]], float(CASES[name]["graduation"])


def test_published_binned_example():
    # Cross Validated question 60256: Sheppard 7.70; the likelihood averaged over the mean agrees
    spread = rounded_spread([readings_of("J_binned_published")[0]], resolution=5.0)
    assert round(spread.sheppard.value, 2) == 7.70
    assert round(spread.likelihood.value, 2) == 7.70


@pytest.mark.parametrize("name", ["H_alike_n3", "G_alike_n10"])
def test_readings_all_alike_give_an_upper_bound_only(name):
    readings, resolution = readings_of(name)
    spread = rounded_spread([readings], resolution=resolution)
    assert spread.one_sided
    assert isinstance(spread.quoted, NotYet)
    assert spread.interval.low == 0.0
    # the sigma at which n readings, their mean amid a graduation, are alike 5 times in 100
    n, sigma = len(readings), spread.interval.high / resolution
    edges = ndtr((np.arange(-30, 31) - 0.5) / sigma)
    assert (np.diff(edges) ** n).sum() == pytest.approx(0.05, rel=1e-3)


@pytest.mark.parametrize("n", [3, 5, 10, 30])
def test_two_neighbouring_graduations_give_no_lower_limit(n):
    spread = rounded_spread([[0.0] * (n // 2) + [0.01] * (n - n // 2)], resolution=0.01)
    assert spread.pattern == "neighbours"
    assert isinstance(spread.quoted, NotYet)
    assert spread.interval.low == 0.0


@pytest.mark.parametrize("sigma", [0.5, 2.0, 20.0])
def test_a_million_readings_give_the_truth(sigma):
    rng = np.random.default_rng(4)
    readings = 0.01 * np.rint(rng.normal(0.3, sigma, 1_000_000))
    spread = rounded_spread([readings], resolution=0.01)
    assert spread.quoted.value == pytest.approx(0.01 * sigma, rel=0.004)
    assert 0.01 * sigma in spread.interval


def test_a_sum_of_squares_takes_over_where_it_says_the_same():
    readings = np.rint(np.random.default_rng(5).normal(0.3, 2.6, 40)).tolist()
    blocks = distinct_blocks([count_bins(readings, resolution=1.0)])
    below, above = score(blocks, WIDE - 1e-9), score(blocks, WIDE)
    assert below == pytest.approx(above * WIDE**2 / (WIDE**2 + 1.0 / 12.0), rel=1e-3)


def test_blocks_share_a_spread_and_keep_their_means():
    rng = np.random.default_rng(6)
    blocks = [np.rint(mean + 2.0 * rng.normal(size=50)) for mean in (0.2, 40.6, -100.1, 7.5)]
    spread = rounded_spread(blocks, resolution=1.0)
    assert (spread.n, spread.blocks, spread.df) == (200, 4, 196)
    pooled = math.sqrt(np.mean([np.var(block, ddof=1) for block in blocks]) - 1.0 / 12.0)
    assert spread.quoted.value == pytest.approx(pooled, rel=0.01)


@pytest.mark.parametrize("sigma", [0.25, 0.6, 4.0])
@pytest.mark.parametrize("block", [[0.0] * 4, [0.0, 1.0, 1.0], [0.0, 1.0, 3.0]])
def test_the_score_is_the_slope_of_the_integral_over_the_mean(block, sigma):
    def chance(mean, sigma):
        return math.prod(
            ndtr((x + 0.5 - mean) / sigma) - ndtr((x - 0.5 - mean) / sigma) for x in block
        )

    def integral(sigma):
        return quad(chance, -20.0, 25.0, args=(sigma,), points=[0.0, 0.5, 1.0, 3.0], limit=500)[0]

    # twice the same block, for they are counted by shape
    blocks = distinct_blocks([count_bins(block, resolution=1.0)] * 2)
    step = 1.0 + 1e-4
    rise = math.log(integral(sigma * step) / integral(sigma / step)) / (2.0 * math.log(step))
    expected = 2.0 * rise
    if sigma >= WIDE:  # there the sum of squares stands in
        assert score(blocks, sigma) == pytest.approx(expected, abs=0.05)
    else:
        assert score(blocks, sigma) == pytest.approx(expected, rel=1e-4, abs=1e-5)


@pytest.mark.parametrize("sigma", [0.5, 1.2, 60.0])
def test_thousands_of_short_blocks_give_the_truth_amid_the_interval(sigma):
    rng = np.random.default_rng(11)
    means = rng.uniform(-0.5, 0.5, (4000, 1))
    blocks = np.rint(means + sigma * rng.normal(size=(4000, 5))).tolist()
    spread = rounded_spread(blocks, resolution=1.0)
    assert sigma in spread.interval
    assert spread.quoted.value == pytest.approx(sigma, rel=0.02)
    below, above = spread.quoted.value - spread.interval.low, spread.interval.high - sigma
    assert 0.3 < below / above < 3.0 or sigma < 1.0
    assert spread.interval.high - spread.interval.low < 0.1 * sigma or sigma < 1.0


def test_wide_blocks_get_the_unbiased_chi_square_interval():
    # R. F. Tate, G. W. Klett, J. Amer. Statist. Assoc. 54, 1959: of all intervals S / b, S / a for
    # a variance the unbiased one has a^(df/2) exp(-a/2) equal at both ends; probabilities by scipy
    blocks = np.rint(np.random.default_rng(12).normal(0.0, 200.0, (6, 4)))
    spread = rounded_spread(blocks.tolist(), resolution=1.0)
    squares = 18.0 * np.mean(np.var(blocks, axis=1, ddof=1))
    high, low = (
        squares / (end**2 + 1.0 / 12.0) for end in (spread.interval.low, spread.interval.high)
    )
    assert chi2.cdf(high, 18) - chi2.cdf(low, 18) == pytest.approx(0.95, rel=1e-6)
    assert 9.0 * math.log(high / low) == pytest.approx(0.5 * (high - low), rel=1e-6)
    assert spread.quoted.value == pytest.approx(spread.ordinary.value, rel=1e-5)


def test_first_reads_the_zero_as_one_more_setting():
    relative = rounded_spread([[0.02, -0.01, 0.03]], resolution=0.01, reference="first")
    absolute = rounded_spread([[0.0, 0.02, -0.01, 0.03]], resolution=0.01)
    assert (relative.n, relative.quoted.value) == (absolute.n, absolute.quoted.value)
    # the bezel may have been turned, or the first reading subtracted: the worse one counts
    assert relative.interval.low <= absolute.interval.low
    assert relative.interval.high >= absolute.interval.high


def test_previous_is_divided_by_the_square_root_of_two():
    rng = np.random.default_rng(7)
    differences = np.rint(np.diff(3.0 * rng.normal(size=20_001)))
    spread = rounded_spread([differences], resolution=1.0, reference="previous")
    assert spread.quoted.value == pytest.approx(3.0, rel=0.02)
    assert spread.df == pytest.approx(2.0 * 20_000 / 3.0, rel=1e-3)


def test_sheppard_is_shown_from_one_resolution_up():
    wide = rounded_spread([[0.0, 0.03, -0.02, 0.01]], resolution=0.01)
    assert isinstance(wide.sheppard, Estimate)
    expected = math.sqrt(wide.ordinary.value**2 - 0.01**2 / 12.0)
    assert wide.sheppard.value == pytest.approx(expected, rel=1e-12)
    narrow = rounded_spread([[0.0, 0.0, 0.0, 0.01, 0.02]], resolution=0.01)
    assert isinstance(narrow.sheppard, NotYet)


def test_a_far_reading_among_many_does_not_break_the_fit():
    spread = rounded_spread([[0.0] * 100_000 + [10.0]], resolution=0.01)
    assert spread.quoted.value == pytest.approx(spread.ordinary.value, rel=0.02)


@pytest.mark.parametrize("many", [list, np.array])
@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ([], Why.NO_READINGS),
        ([0.01], Why.NO_TWO_SETTINGS),
        ([0.01, math.nan, 0.02], "place=2 value=nan"),
        ([0.01, 0.02, math.inf], "place=3 value=inf"),
        ([math.nan, 0.02], "place=1 value=nan"),
        ([0.01, 0.02, 0.025], "place=3 value=0.025"),
        ([0.0, 1e200], "place=2"),
    ],
)
def test_what_can_not_be_fitted_says_why(many, readings, said):
    with pytest.raises(NotEnough, match=said):
        rounded_spread([many(readings)], resolution=0.01)


@pytest.mark.parametrize("resolution", [0.0, -0.01, math.nan, math.inf])
def test_a_resolution_must_be_above_zero(resolution):
    with pytest.raises(ValueError, match="resolution"):
        rounded_spread([[0.0, 0.01]], resolution=resolution)


def test_counting_an_array_and_a_list_agree_across_pieces():
    rng = np.random.default_rng(8)
    readings = 100.02 + 0.01 * rng.integers(-40, 40, 100_000)
    assert count_bins(readings, resolution=0.01) == count_bins(readings.tolist(), resolution=0.01)


def test_bootstrap_interval_of_normal_readings_is_near_chi_square():
    rng = np.random.default_rng(9)
    bins = count_bins(np.rint(rng.normal(0.0, 5.0, 4000)), resolution=1.0)
    spread = bootstrap_spread(bins, resamples=4000, rng=np.random.default_rng(10))
    half_width = 1.96 * spread.value / math.sqrt(2.0 * 4000)
    assert spread.high - spread.value == pytest.approx(half_width, rel=0.15)
    assert spread.value - spread.low == pytest.approx(half_width, rel=0.15)


def test_thirty_readings_need_neither_numpy_nor_scipy():
    code = (
        "import sys\n"
        "from hostctl.metrology.rounded.rounding import rounded_spread\n"
        "from hostctl.metrology.spread.sample import describe\n"
        "readings = [0.01 * (k % 4) for k in range(30)]\n"
        "rounded_spread([readings], resolution=0.01), describe([readings])\n"
        "sys.exit(bool({'numpy', 'scipy'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
