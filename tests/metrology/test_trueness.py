"""The tie's constant, its check, the mean gap and its standing: against independent reckoning."""

import math

import numpy as np
import pytest
from house import loaded_by
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from hostctl.metrology.basis.estimate import Interval, NotEnough
from hostctl.metrology.comparison.mean_difference import mean_difference
from hostctl.metrology.rounded.mean import mean_of_readings
from hostctl.metrology.trueness.constant import TieInterval, elsewhere, hull, tie_constant
from hostctl.metrology.trueness.mean_gap import mean_gap
from hostctl.metrology.trueness.standing import standing
from hostctl.metrology.trueness.touches import Touches

SCATTERED = [(0.0, 1.0), (0.7, 1.9), (1.4, 2.0), (0.2, 1.4), (1.6, 2.6)]
ALIKE = [TieInterval(0.10, 0.12)]


def ties(ends, shift=0.0):
    return [TieInterval(low + shift, high + shift) for low, high in ends]


def fine(values):
    """So narrow that they are points."""
    return [TieInterval(value - 1e-7, value + 1e-7) for value in values]


def profile(ends, constant):
    """The log-likelihood at its top over sigma, by scipy."""
    low, high = np.array(ends).T - constant

    def fall(log_sigma):
        sigma = math.exp(log_sigma)
        chances = stats.norm.cdf(high / sigma) - stats.norm.cdf(low / sigma)
        return -float(np.sum(np.log(np.maximum(chances, 1e-300))))

    found = optimize.minimize_scalar(fall, bounds=(math.log(0.02), 3.0), method="bounded")
    return -found.fun


@pytest.mark.parametrize("constant", [0.4, 1.0, 1.3, 1.9, 3.0])
def test_the_best_at_a_constant_is_what_a_search_over_sigma_finds(constant):
    found = Touches(SCATTERED).highest_at(constant)
    assert found == pytest.approx(profile(SCATTERED, constant), abs=1e-5)


@pytest.mark.parametrize("risk", [0.05, 0.025, 0.01])
def test_a_limit_is_where_the_fall_of_the_likelihood_is_students_t(risk):
    n = len(SCATTERED)
    top = optimize.minimize_scalar(
        lambda c: -profile(SCATTERED, c), bounds=(0.5, 2.0), method="bounded"
    )
    fall = 0.5 * n * math.log1p(stats.t.ppf(1 - risk, n - 1) ** 2 / (n - 1))
    above, below = (
        optimize.brentq(lambda c: profile(SCATTERED, c) + top.fun + fall, top.x, end)
        for end in (12.0, -12.0)
    )
    box = Touches(SCATTERED).box
    assert box.upper.at(1 - risk) == pytest.approx(above, rel=0.02)
    assert box.lower.at(risk) == pytest.approx(below, rel=0.02, abs=0.02)


def test_fine_touches_give_students_interval():
    # by hand: mean 0.105, s 0.00129099, n 4; t(0.975; 3) = 3.1824 (published t tables)
    found = tie_constant(fine([0.1035, 0.1045, 0.1055, 0.1065]), beyond=0.0)
    reach = 3.182446 * 0.00129099 / 2
    assert (found.interval.low, found.interval.high) == pytest.approx(
        (0.105 - reach, 0.105 + reach), abs=2e-5
    )
    assert found.value == pytest.approx(0.105)
    assert found.standard_uncertainty == pytest.approx(reach / 1.959964, rel=0.01)


@pytest.mark.parametrize("n", [2, 3, 5, 10, 30])
def test_touches_that_do_not_scatter_leave_all_of_their_interval(n):
    found = tie_constant(ALIKE * n, beyond=0.0)
    assert found.interval.low <= 0.10 + 1e-9
    assert found.interval.high >= 0.12 - 1e-9
    assert found.value == pytest.approx(0.11)
    # beyond is normal, and the truth may lie at the very end
    wider = tie_constant(ALIKE * n, beyond=0.004).interval
    assert wider.high >= 0.12 + 1.95 * 0.004 - 1e-4


def test_a_tie_takes_two_touches_and_a_doubt_that_is_none_the_less():
    with pytest.raises(NotEnough):
        tie_constant(ALIKE, beyond=0.0)
    for beyond in (-0.001, math.inf, math.nan):
        with pytest.raises(ValueError, match="can't show"):
            tie_constant(ALIKE * 2, beyond=beyond)
    with pytest.raises(ValueError, match="guides"):
        elsewhere(tie_constant(ALIKE * 2, beyond=0.0), -0.01)
    with pytest.raises(ValueError, match="no interval"):
        TieInterval(0.1, 0.1)


ENDS = st.lists(
    st.tuples(st.integers(-5, 5), st.integers(1, 6)).map(lambda p: (p[0] / 4, (p[0] + p[1]) / 4)),
    min_size=2,
    max_size=4,
)


@settings(max_examples=15, deadline=None)
@given(ENDS, st.floats(-3, 3))
def test_a_constant_moves_with_its_touches_and_is_mirrored_with_them(ends, by):
    found, moved = (tie_constant(ties(ends, shift), beyond=0.1).interval for shift in (0.0, by))
    assert (moved.low, moved.high) == pytest.approx((found.low + by, found.high + by), abs=1e-4)
    turned = tie_constant([TieInterval(-high, -low) for low, high in ends], beyond=0.1).interval
    assert (turned.low, turned.high) == pytest.approx((-found.high, -found.low), rel=1e-3, abs=1e-3)


@settings(max_examples=15, deadline=None)
@given(ENDS)
def test_limits_rise_with_their_risk_and_hold_what_all_touches_share(ends):
    found = tie_constant(ties(ends), beyond=0.0)
    for quantiles in (found.box.upper.values, found.box.lower.values):
        assert list(quantiles) == sorted(quantiles)
    low, high = max(low for low, _ in ends), min(high for _, high in ends)
    if low <= high:
        assert found.interval.low <= low + 1e-9
        assert found.interval.high >= high - 1e-9
    assert found.interval.low < found.value < found.interval.high


@settings(max_examples=15, deadline=None)
@given(ENDS, ENDS)
def test_between_two_constants_all_is_held_that_either_holds(one, other):
    first, second = (tie_constant(ties(ends), beyond=0.05) for ends in (one, other))
    both = hull(first, second).interval
    assert both.low <= min(first.interval.low, second.interval.low) + 1e-9
    assert both.high >= max(first.interval.high, second.interval.high) - 1e-9


def test_elsewhere_the_guides_come_in_as_a_rectangle():
    known = tie_constant(fine([0.1, 0.1, 0.1, 0.1]), beyond=0.004)
    rng = np.random.default_rng(3)
    drawn = 0.1 + 0.004 * rng.standard_normal(400_000) + rng.uniform(-0.01, 0.01, 400_000)
    there = elsewhere(known, 0.01)
    assert there.interval.high == pytest.approx(np.quantile(drawn, 0.975), abs=2e-4)
    assert there.interval.low == pytest.approx(np.quantile(drawn, 0.025), abs=2e-4)
    assert there.value == known.value
    assert elsewhere(known, 0.0) is known


def gaps(readings=(0.10, 0.11, 0.12, 0.11, 0.11, 0.10)):
    return mean_of_readings(readings, resolution=0.01)


def test_the_mean_gap_has_the_doubts_of_settings_and_tie():
    # many fine readings and touches: both normal, and variances add (JCGM 100:2008, 5.1.2)
    rng = np.random.default_rng(5)
    settings = rng.normal(0.11, 0.004, 400).round(4)
    tie = tie_constant(fine([0.5] * 3), beyond=0.0003)
    found = mean_gap(tie, mean_of_readings(settings.tolist(), resolution=1e-4), target=0.1)
    of_mean = settings.std(ddof=1) / 20
    half = 1.96 * math.hypot(of_mean, 0.0003)
    assert found.interval.high - found.value == pytest.approx(half, rel=0.03)
    assert found.tie_share == pytest.approx(0.0003**2 / (0.0003**2 + of_mean**2), rel=0.05)
    assert found.off == pytest.approx(settings.mean() - 0.1)
    assert found.correction == -found.off
    assert found.correction_interval.low == pytest.approx(-found.off_interval.high)
    assert found.value + found.correction == pytest.approx(0.1)


def test_a_known_tie_leaves_the_interval_of_the_mean():
    found = mean_gap(tie_constant(fine([0.5] * 9), beyond=0.0), gaps(), target=0.1)
    alone = gaps().interval(0.95)
    assert (found.interval.low, found.interval.high) == pytest.approx(
        (alone.low, alone.high), abs=2e-4
    )
    assert found.tie_share < 1e-3


def test_the_tie_drops_out_of_a_difference():
    paper, foil = gaps(), gaps((0.13, 0.14, 0.14, 0.13, 0.12, 0.13))
    apart = mean_difference(foil.box, paper.box).interval
    for beyond in (0.0, 0.05):
        tie = tie_constant(ALIKE * 5, beyond=beyond)
        one, other = (mean_gap(tie, mean, target=0.1) for mean in (paper, foil))
        found = mean_difference(other.of_settings, one.of_settings).interval
        assert found == apart
    assert one.tie_share > 0.9


@pytest.mark.parametrize(("low", "high", "nearest", "farthest"), [
    (0.11, 0.13, 0.01, 0.03), (0.07, 0.09, 0.01, 0.03), (0.09, 0.12, 0.0, 0.02),
])  # fmt: skip
def test_the_reach_of_a_mean_gap_is_from_its_target(low, high, nearest, farthest):
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    tie = tie_constant(fine([0.5] * 3), beyond=half / stats.norm.ppf(0.9875))
    mean = mean_of_readings([middle - 1e-6, middle + 1e-6] * 200, resolution=1e-6)
    found = mean_gap(tie, mean, target=0.1).reach(0.0125)
    assert (found.low, found.high) == pytest.approx((nearest, farthest), abs=3e-4)


@pytest.mark.parametrize(
    ("low", "high", "margin", "said"),
    [
        (-0.01, 0.02, 0.03, "on target"),
        (-0.01, 0.02, None, "cannot tell"),
        (-0.01, 0.04, 0.03, "cannot tell"),
        (0.01, 0.02, 0.03, "on target"),  # a proven trifle
        (0.01, 0.02, None, "off target"),
        (0.01, 0.04, 0.03, "off target"),
        (-0.09, -0.05, 0.03, "off target"),
        (0.0, 0.04, 0.03, "cannot tell"),
        (-0.03, 0.03, 0.03, "on target"),
    ],
)
def test_what_is_said_of_an_interval(low, high, margin, said):
    assert standing(Interval(low=low, high=high, confidence=0.95), margin) == said


def test_a_margin_is_above_nothing():
    with pytest.raises(ValueError, match="above 0"):
        standing(Interval(low=0.0, high=1.0, confidence=0.95), 0.0)


def test_a_tie_loads_no_numpy():
    code = (
        "from hostctl.metrology.trueness.constant import TieInterval, tie_constant\n"
        "from hostctl.metrology.trueness import mean_gap\n"
        "tie_constant([TieInterval(0.1, 0.12), TieInterval(0.11, 0.13)], beyond=0.004)"
    )
    assert "numpy" not in loaded_by(code)
