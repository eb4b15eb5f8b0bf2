"""The difference of two means: published examples, and as often wrong as promised."""

import json
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad

from hostctl.metrology.basis.student_box import student_box
from hostctl.metrology.comparison.mean_difference import mean_difference
from hostctl.metrology.rounded.mean import mean_of_readings
from hostctl.metrology.spread.sample import moments

DATA = Path(__file__).parents[1] / "data" / "spreads"
SLEEP = json.loads((DATA / "tost_sleep.json").read_text())
SLEEPERS = SLEEP["data"]["group1"], SLEEP["data"]["group2"]


def points(values):
    known = moments(values)
    return student_box(known.mean, known.sd / math.sqrt(known.n), known.n - 1)


def test_students_paired_test_on_his_own_sleep_data():
    # Student 1908: paired t -4.0621, the drugs given to the same ten people (from memory)
    differences = [one - other for one, other in zip(*SLEEPERS, strict=True)]
    found = mean_difference(points(differences))
    assert found.p_value == pytest.approx(2 * stats.t.sf(4.0621, 9), rel=0.01)
    mean, error = -1.58, 1.58 / 4.0621
    reach = stats.t.ppf(0.975, 9) * error
    assert (found.interval.low, found.interval.high) == pytest.approx(
        (mean - reach, mean + reach), rel=2e-3
    )
    assert found.differs


def behrens_fisher(limit):
    """The chance of a difference of the sleepers' means above this, by scipy's integral."""
    one, other = (stats.describe(sample) for sample in SLEEPERS)
    first, second = (math.sqrt(each.variance / each.nobs) for each in (one, other))

    def density(t):
        return stats.t.pdf(t, 9) * stats.t.sf(
            (limit - one.mean + other.mean + second * t) / first, 9
        )

    return quad(density, -60, 60, limit=400, points=[-5, 0, 5])[0]


def test_of_points_it_is_the_interval_of_behrens_and_fisher():
    found = mean_difference(*map(points, SLEEPERS))
    assert found.p_value == pytest.approx(2 * behrens_fisher(0.0), rel=0.01)
    assert behrens_fisher(found.interval.high) == pytest.approx(0.025, rel=0.02)
    assert behrens_fisher(found.interval.low) == pytest.approx(0.975, rel=1e-3)
    # Welch's p on the same data is published, 0.079, and smaller: he guesses the degrees of freedom
    assert found.p_value > 0.079


def test_two_one_sided_tests_on_students_sleep_data():
    found = mean_difference(*map(points, SLEEPERS), margin=0.5)
    assert found.p_beyond == pytest.approx(1.0 - behrens_fisher(-0.5), rel=2e-3)
    assert not found.within
    assert mean_difference(*map(points, SLEEPERS), margin=5.0).within


def test_several_pairs_share_the_risk():
    alone, of_four = (
        mean_difference(*map(points, SLEEPERS), margin=5.0, compared=m) for m in (1, 4)
    )
    assert of_four.p_value == pytest.approx(4 * alone.p_value)
    assert of_four.p_beyond == pytest.approx(4 * alone.p_beyond)
    assert of_four.interval.confidence == pytest.approx(1 - 0.05 / 4)
    assert behrens_fisher(of_four.interval.high) == pytest.approx(0.025 / 4, rel=0.05)


def test_a_margin_must_make_sense():
    with pytest.raises(ValueError, match="above 0"):
        mean_difference(points([1.0, 2.0]), margin=0.0)


@cache
def box(pattern):
    return mean_of_readings([float(x) for x in pattern], resolution=1.0).box


def studies(rng, number, n, sigma, place):
    rows = np.rint(place + sigma * rng.normal(size=(number, n)))
    return [tuple(sorted(row)) for row in rows.tolist()]


def test_they_differ_exactly_where_the_interval_leaves_out_0():
    rng = np.random.default_rng(21)
    seen = set()
    for n in (2, 4, 12):
        for sigma in (0.1, 0.5, 2.0):
            first, second = (studies(rng, 25, n, sigma, place) for place in (0.3, 1.2 + sigma))
            for one, other in zip(first, second, strict=True):
                found = mean_difference(box(one), box(other), margin=2.5, compared=3)
                assert found.differs is (found.p_value < 0.05)
                assert found.differs is (not found.interval.low <= 0.0 <= found.interval.high)
                if found.within:
                    assert found.interval.low < 2.5
                    assert found.interval.high > -2.5
                seen.add((found.differs, found.within))
    assert {(True, False), (False, False)} <= seen


@pytest.mark.parametrize(
    ("n", "sigma", "places"),
    [
        ((10, 10), (0.4, 0.4), (0.19, -0.19)),
        ((5, 30), (0.3, 0.3), (0.25, -0.25)),
        ((10, 4), (0.6, 1.5), (0.06, 0.4)),
        ((60, 60), (0.2, 0.15), (0.3, -0.3)),
    ],
)
def test_the_difference_covers_as_promised(n, sigma, places):
    rng = np.random.default_rng(22)
    number = 250
    samples = [studies(rng, number, *each) for each in zip(n, sigma, places, strict=True)]
    truth = places[0] - places[1]
    missed = sum(
        not interval.low <= truth <= interval.high
        for one, other in zip(*samples, strict=True)
        for interval in [mean_difference(box(one), box(other)).interval]
    )
    assert missed / number <= 0.05 + 3.0 * math.sqrt(0.05 * 0.95 / number)


def test_alike_readings_a_graduation_apart_are_not_called_different():
    """Their means may lie on the edge between."""
    beside = mean_difference(box((0.0,) * 60), box((1.0,) * 60))
    assert not beside.differs
    assert beside.p_value > 0.5
    apart = mean_difference(box((0.0,) * 60), box((2.0,) * 60))
    assert apart.differs
    assert apart.interval.high > -1.0
