"""The mean of rounded readings: against independent values, and as often right as promised."""

import json
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy import optimize, stats
from scipy.special import ndtr

from hostctl.metrology.basis.confidence_box import MESH
from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.rounded.law.bin_counts import count_bins
from hostctl.metrology.rounded.likelihood import highest, highest_at
from hostctl.metrology.rounded.mean import largest_shift, mean_of_readings
from hostctl.metrology.spread.mean import mean_against_datum, mean_of_blocks

# Case J is published (see SOURCE.md beside it).
FILE = Path(__file__).parents[1] / "data" / "rounding" / "censored_normal.json"
CASES = {case["name"]: case for case in json.loads(FILE.read_text(encoding="utf-8"))["cases"]}


@pytest.mark.parametrize("name", CASES)
def test_the_top_is_where_fifty_digits_have_it(name):
    case = CASES[name]
    resolution = float(case["graduation"])
    bins = count_bins([float(text) for text in case["readings"]], resolution=resolution)
    top = highest(bins)
    if case["ml"]["kind"] == "interior maximum":
        mean = float(case["ml"]["mean"])
        assert bins.centre + resolution * top.mean == pytest.approx(mean, abs=1e-6 * resolution)
    assert top.value == pytest.approx(float(case["ml"].get("max_loglik", 0.0)), abs=1e-9)


@pytest.mark.parametrize("readings", [[0.0] * 3, [0.0, 0.0, 1.0], [0.0, 1.0, 1.0, 3.0]])
@pytest.mark.parametrize("mean", [-0.7, 0.2, 0.49, 0.51, 0.9, 2.3])
def test_the_best_at_a_mean_is_what_a_search_over_sigma_finds(readings, mean):
    low, high = np.array(readings) - 0.5 - mean, np.array(readings) + 0.5 - mean

    def fall(log_sigma):
        near, far = low / math.exp(log_sigma), high / math.exp(log_sigma)
        chances = np.where(near > 0.0, ndtr(-near) - ndtr(-far), ndtr(far) - ndtr(near))
        return -np.sum(np.log(np.maximum(chances, 1e-300)))

    grid = np.linspace(-9.0, 3.0, 600)
    start = grid[int(np.argmin([fall(x) for x in grid]))]
    found = optimize.minimize_scalar(fall, bounds=(start - 0.02, start + 0.02), method="bounded")
    bins = count_bins(readings, resolution=1.0, anchor=0.0)
    assert highest_at(bins, mean - bins.centre) == pytest.approx(-found.fun, abs=1e-4)


def test_far_above_a_graduation_it_is_students_interval():
    # by hand: mean 0.02, s 0.00816, n 4; t(0.975; 3) = 3.1824 (published t tables)
    interval = mean_of_readings([0.01, 0.02, 0.02, 0.03], resolution=1e-4).interval(0.95)
    s = (0.0002 / 3) ** 0.5
    ends = 0.02 - 3.182446 * s / 2, 0.02 + 3.182446 * s / 2
    assert (interval.low, interval.high) == pytest.approx(ends, rel=1e-6)


def test_readings_all_alike_leave_the_whole_graduation():
    many = mean_of_readings([0.05] * 60, resolution=0.01).interval(0.95)
    assert (many.low, many.high) == pytest.approx((0.045, 0.055), abs=1e-4)
    assert many.low < 0.045
    two = mean_of_readings([0.05] * 2, resolution=0.01).interval(0.95)
    assert two.high - two.low > 2 * 0.01
    assert (two.high + two.low) / 2 == pytest.approx(0.05)


@pytest.mark.parametrize(
    "readings", [[0.0] * 4, [0.0, 0.0, 1.0], [0.0, 1.0, 1.0, 0.0], [0.0, 2.0, 3.0], [0.0, 5, 9]]
)
def test_the_box_holds_the_limits(readings):
    known = mean_of_readings(readings, resolution=1.0)
    for quantiles in (known.box.upper.values, known.box.lower.values):
        assert list(quantiles) == sorted(quantiles)
    assert all(
        high >= low
        for high, low in zip(known.box.upper.values, known.box.lower.values, strict=True)
    )
    for risk in (0.2, 0.05, 0.025, 0.005):
        above = np.interp(stats.norm.ppf(1 - risk), MESH, known.box.upper.values)
        assert above == pytest.approx(known.upper(risk), rel=0.06, abs=0.01)
        below = np.interp(stats.norm.ppf(risk), MESH, known.box.lower.values)
        assert below == pytest.approx(known.lower(risk), rel=0.06, abs=0.01)


def test_a_mirrored_sample_has_a_mirrored_interval():
    one = mean_of_readings([0.0, 1.0, 1.0, 3.0, 1.0], resolution=1.0).interval(0.9)
    other = mean_of_readings([0.0, -1.0, -1.0, -3.0, -1.0], resolution=1.0).interval(0.9)
    assert (other.low, other.high) == pytest.approx((-one.high, -one.low), abs=1e-6)


@cache
def ends(pattern):
    """Of readings by how far they lie above the lowest."""
    interval = mean_of_readings([float(x) for x in pattern], resolution=1.0).interval(0.95)
    return interval.low, interval.high


# The worst of eleven places, found with other seeds; sigma and place in graduations
WORST = [(3, 1.5, 0.12), (5, 0.8, 0.0), (10, 0.4, 0.19), (10, 0.6, 0.06), (30, 0.3, 0.0),
         (30, 0.4, 0.06), (100, 0.3, 0.12), (100, 0.1, 0.499), (10, 3.0, 0.3)]  # fmt: skip


@pytest.mark.parametrize(("n", "sigma", "place"), WORST)
def test_it_covers_as_promised_at_the_worst_place(n, sigma, place):
    rng = np.random.default_rng(17)
    studies = 1000 if n < 100 else 500
    readings = np.sort(np.rint(place + sigma * rng.normal(size=(studies, n))), axis=1)
    missed = [0, 0]
    for row in readings:
        low, high = ends(tuple((row - row[0]).tolist()))
        missed[0] += place < row[0] + low
        missed[1] += place > row[0] + high
    three_errors = 3.0 * math.sqrt(0.05 * 0.95 / studies)
    assert sum(missed) / studies <= 0.055 + three_errors
    assert max(missed) / studies <= 0.035 + three_errors / math.sqrt(2.0)


@pytest.mark.parametrize(("blocks", "n", "sigma", "place"), [
    (3, 5, 0.2, 0.3), (6, 4, 0.4, 0.25), (4, 10, 0.3, 0.25), (2, 3, 1.5, 0.1),
])  # fmt: skip
def test_the_mean_of_blocks_covers_as_promised(blocks, n, sigma, place):
    rng = np.random.default_rng(18)
    missed = 0
    for study in np.rint(place + sigma * rng.normal(size=(400, blocks, n))).tolist():
        interval = mean_of_blocks(study, resolution=1.0, least_sigma=0.0).interval(0.95)
        missed += place not in interval
    assert missed / 400 <= 0.05 + 3.0 * math.sqrt(0.05 * 0.95 / 400)


@pytest.mark.parametrize("sigma", [0.0, 0.05, 0.2, 0.4, 0.7, 1.5])
def test_no_mean_is_moved_farther_by_rounding_than_allowed(sigma):
    graduations = np.arange(-20, 21)
    for place in np.linspace(0.0, 0.499, 41):
        edges = np.append(graduations - 0.5, 20.5)
        chances = np.diff(stats.norm.cdf(edges, place, max(sigma, 1e-9)))
        moved = abs(np.sum(graduations * chances) - place)
        assert moved <= largest_shift(sigma, 1.0) + 1e-9
    assert largest_shift(sigma, 1.0) <= 0.5
    # the first term of the series, from half a graduation up
    first = math.exp(-2.0 * (math.pi * sigma) ** 2) / math.pi
    if sigma >= 0.4:
        assert largest_shift(sigma, 1.0) == pytest.approx(first, rel=0.01)


def test_a_mean_needs_a_datum_and_two_readings():
    changes = {"resolution": 0.01, "least_sigma": 0.0}
    for reference in ("first", "previous"):
        none = mean_against_datum([[0.01, 0.02]], reference=reference, **changes)
        assert isinstance(none, NotYet)
    one = mean_against_datum([[0.01]], reference="datum", **changes)
    assert isinstance(one, NotYet)
    assert one.reason.code is Why.ONE_READING
    assert one.needs_n == 2
    several = mean_against_datum([[0.01], [0.03]], reference="datum", **changes)
    assert isinstance(several, Estimate)
    assert several.value == pytest.approx(0.02)
    with pytest.raises(NotEnough):
        mean_of_readings([0.01], resolution=0.01)
    with pytest.raises(NotEnough):
        mean_of_readings([0.01, 0.0149], resolution=0.01)
