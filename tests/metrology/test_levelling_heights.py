"""Heights of a round: what repeats, rounding, drift and knocks make of them."""

import math

import numpy as np
import pytest
import scipy.optimize
import scipy.stats

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.geometry.bed import HeightSpread, fit_plane
from hostctl.metrology.levelling.heights import heights_of
from hostctl.metrology.levelling.plane import plane_of

X, Y = np.array([20.0, 200, 20, 200, 110]), np.array([20.0, 20, 200, 200, 110])
NAMES = ("a", "b", "c", "d", "e")
TRUE = np.array([0.1, -0.2, 0.05, 0.3, 0.02])


def round_of(readings, **more):
    """Heights from readings in the order in which they were taken: there, back, the first again."""
    n = len(NAMES)
    back = readings[n : 2 * n][::-1]
    return heights_of(NAMES, X, Y, [readings[:n], back], closing=readings[-1], **more)


def in_order(true):
    return np.concatenate([true, true[::-1], true[:1]])


def test_readings_without_noise_are_the_heights():
    heights = round_of(in_order(TRUE))
    assert heights.height_mm - heights.height_mm.mean() == pytest.approx(TRUE - TRUE.mean())
    assert heights.u_mm == pytest.approx(0.0, abs=1e-12)
    assert heights.jump is None
    assert heights.closing_mm == pytest.approx(0.0)


def test_a_number_that_falls_as_the_bed_comes_up_is_turned_over():
    heights = round_of(-in_order(TRUE), sign=-1)
    assert heights.height_mm == pytest.approx(TRUE)


def test_a_steady_drift_tilts_nothing_and_is_told():
    heights = round_of(in_order(TRUE) + np.linspace(0.0, 0.08, 11))
    tilt = heights.height_mm - TRUE
    assert np.ptp(tilt) < 1e-12
    assert heights.drift_mm == pytest.approx(0.08)
    assert heights.jump is None


@pytest.mark.parametrize("after", [1, 3, 7, 9])
def test_a_knock_within_the_round_is_noticed(after):
    rng = np.random.default_rng(after)
    readings = in_order(TRUE) + rng.normal(0.0, 0.002, 11)
    readings[after:] += 0.1
    jump = round_of(readings).jump
    assert jump is not None
    assert jump.size_mm == pytest.approx(0.1, abs=0.03)


def test_one_reading_that_stands_out_is_noticed():
    readings = in_order(TRUE) + np.random.default_rng(2).normal(0.0, 0.002, 11)
    readings[3] += 0.2
    jump = round_of(readings).jump
    assert not jump.lasting
    assert jump.after in (3, 6)  # of two repeats it can't be told which is wrong
    assert abs(jump.size_mm) == pytest.approx(0.2, abs=0.02)


def test_scatter_known_from_earlier_is_pooled():
    readings = in_order(TRUE) + np.random.default_rng(3).normal(0.0, 0.01, 11)
    alone = round_of(readings).scatter
    both = round_of(readings, known=HeightSpread(sd=0.02, df=8.0)).scatter
    assert both.df == alone.df + 8.0 == 13.0
    assert both.sd**2 * 13 == pytest.approx(alone.sd**2 * 5 + 0.02**2 * 8)


def test_rounding_is_not_averaged():
    """All repeats alike: one reading's rounding, h / sqrt(12), stays however often it is read."""
    true = np.round(TRUE, 2)
    many = heights_of(NAMES, X, Y, np.tile(true, (50, 1)), resolution_mm=0.01)
    assert (many.u_mm >= 0.01 / math.sqrt(12)).all()


@pytest.mark.slow
@pytest.mark.parametrize("scatter", [0.0, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0, 2.0])
def test_a_height_holds_at_its_worst_place_within_a_graduation(scatter):
    """In graduations. True heights from amid a graduation to its edge; 95 % at each place.

    Beside a reference without error, since every height's own interval is meant.
    """
    rng = np.random.default_rng(20261129)
    trials, missed = 2000, []
    for place in np.linspace(0.0, 0.5, 6):
        misses = 0
        for _ in range(trials // 5):
            true = np.full(5, place) + np.array([0, 3, 1, 7, 2])
            readings = np.round(in_order(true) + rng.normal(0.0, scatter, 11))
            heights = round_of(readings, resolution_mm=1.0)
            t = scipy.stats.t.ppf(0.975, heights.df)
            misses += int((np.abs(heights.height_mm - true) > t * heights.u_mm).sum())
        missed.append(misses / trials)
    assert max(missed) <= 0.05 + 3.5 * math.sqrt(0.05 * 0.95 / trials)


@pytest.mark.slow
def test_sound_rounds_seldom_seem_to_jump():
    rng = np.random.default_rng(4)
    found = 0
    for k in range(1000):
        readings = in_order(TRUE) + rng.normal(0.0, 0.007, 11)
        resolution = (0.0, 0.01)[k % 2]
        read = np.round(readings / 0.01) * 0.01 if resolution else readings
        found += round_of(read, resolution_mm=resolution).jump is not None
    assert found / 1000 <= 0.01 + 3.5 * math.sqrt(0.01 * 0.99 / 1000)


def test_where_all_points_are_alike_the_plane_is_that_of_the_geometry_wing():
    readings = np.array([TRUE, TRUE])
    heights = heights_of(NAMES, X, Y, readings, known=HeightSpread(sd=0.01, df=math.inf))
    plane = plane_of(heights)
    u = float(heights.u_mm[0])
    other = fit_plane(X, Y, TRUE, height_spread=HeightSpread(sd=u))
    assert heights.u_mm == pytest.approx(u)
    assert plane.coefficients == pytest.approx([other.middle_height, other.slope_x, other.slope_y])
    assert plane.covariance == pytest.approx(other.covariance, rel=1e-9)


def test_where_points_are_alike_the_covariance_is_that_of_a_general_fit():
    """scipy.optimize.curve_fit with absolute_sigma."""
    passes = np.array([TRUE, TRUE + 0.001, TRUE, TRUE])
    heights = heights_of(NAMES, X, Y, passes, known=HeightSpread(sd=0.01, df=math.inf))
    plane = plane_of(heights)
    places = np.array([X - plane.middle_x, Y - plane.middle_y])
    found, covariance = scipy.optimize.curve_fit(
        lambda xy, a, b, c: a + b * xy[0] + c * xy[1],
        places,
        heights.height_mm,
        p0=[0.0, 0.0, 0.0],
        sigma=heights.u_mm,
        absolute_sigma=True,
    )
    assert plane.coefficients == pytest.approx(found, abs=1e-9)
    assert plane.covariance == pytest.approx(covariance, rel=1e-4, abs=1e-13)


@pytest.mark.slow
def test_unequal_doubts_go_into_the_covariance_as_they_are():
    """The first point was read once more: against lstsq's plane of many simulated rounds."""
    rng = np.random.default_rng(5)
    known = HeightSpread(sd=0.01, df=math.inf)
    planes = []
    for _ in range(4000):
        readings = in_order(TRUE) + rng.normal(0.0, 0.01, 11)
        planes.append(plane_of(round_of(readings, known=known)))
    drawn = np.cov(np.array([plane.coefficients for plane in planes]).T)
    assert np.diag(drawn) == pytest.approx(np.diag(planes[0].covariance), rel=0.1)


@pytest.mark.slow
def test_a_tilts_limits_hold_near_zero_too():
    rng = np.random.default_rng(6)
    for true in (0.0, 0.005, 0.02):
        slope = true / np.ptp(X)
        held = 0
        for _ in range(400):
            readings = in_order(slope * X) + rng.normal(0.0, 0.01, 11)
            tilt = plane_of(round_of(readings)).tilt(X, Y)
            held += tilt.low_mm <= true <= tilt.high_mm
        assert held / 400 >= 0.95 - 3.5 * math.sqrt(0.05 * 0.95 / 400)


def test_a_point_that_was_never_read_is_named():
    readings = np.array([TRUE, TRUE])
    readings[:, 2] = math.nan
    with pytest.raises(NotEnough) as caught:
        heights_of(NAMES, X, Y, readings)
    assert caught.value.reason.code is Why.POINT_NOT_A_NUMBER


def test_one_pass_tells_no_scatter():
    with pytest.raises(NotEnough) as caught:
        heights_of(NAMES, X, Y, [TRUE])
    assert caught.value.reason.code is Why.NO_REPEATS


def test_readings_have_to_fit_the_points():
    with pytest.raises(ValueError, match="don't fit 5 points"):
        heights_of(NAMES, X, Y, [TRUE[:4], TRUE[:4]])
