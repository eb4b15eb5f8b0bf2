"""The plane of a bed, its covariance, twist and bow."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.geometry.bed import HeightSpread, fit_plane, fit_shape

DATA = Path(__file__).parent.parent / "data"
CONSTRUCTED = json.loads((DATA / "flatness_constructed.json").read_text())["cases"]
THERMOMETER = json.loads((DATA / "gum_h3_thermometer.json").read_text())
CORNERS = ([0, 200, 200, 0], [0, 0, 200, 200])
GRID = tuple(axis.ravel() * 50.0 for axis in np.meshgrid(range(5), range(5)))


@pytest.mark.parametrize("case", CONSTRUCTED[1:], ids=lambda case: case["id"])
def test_planes_recomputed_elsewhere(case):
    plane = fit_plane(*np.array(case["points"]).T)
    found = (plane.at(0, 0), plane.slope_x, plane.slope_y)
    assert found == pytest.approx(case["recomputed"]["ls_plane"], abs=1e-9)
    assert plane.sd == pytest.approx(case["recomputed"]["ls_residual_sd_n_minus_3"], rel=1e-6)


def test_the_guides_line_is_a_plane_that_does_not_vary_along_y():
    """JCGM 100:2008 H.3: two copies of the data side by side; u of a height at 30 °C is 0.0041.

    The copies double the degrees of freedom and points, so the spread is given: 0.0035 on 9.
    """
    t = np.array(THERMOMETER["t_C"])
    published = THERMOMETER["expected_published"]
    x, z = np.repeat(t, 2), np.repeat(THERMOMETER["b_C"], 2)
    known = HeightSpread(sd=THERMOMETER["recomputed"]["s"] * math.sqrt(2), df=9)
    plane = fit_plane(x, np.tile([-1.0, 1.0], len(t)), z, height_spread=known)
    assert round(plane.at(20, 0), 4) == published["y1"]
    assert round(plane.slope_x, 5) == published["y2"]
    assert round(plane.height_u(20, 0), 4) == published["s_y1"]
    assert round(math.sqrt(plane.covariance[1, 1]), 5) == published["s_y2"]
    shared = plane.covariance[0, 1] + (20 - plane.middle_x) * plane.covariance[1, 1]
    r = shared / plane.height_u(20, 0) / math.sqrt(plane.covariance[1, 1])
    assert round(r, 2) == published["r"]
    assert round(plane.at(30, 0), 4) == published["b30"]
    assert round(plane.height_u(30, 0), 4) == published["uc_b30"]


@pytest.mark.parametrize(("x", "y"), [(100, 100), (0, 0), (200, -40), (-80, 300)])
def test_the_doubt_of_a_height_on_a_symmetric_grid_has_a_closed_form(x, y):
    """σ √(1/n + (x - x̄)²/Sxx + (y - ȳ)²/Syy)."""
    plane = fit_plane(*GRID, np.zeros(25), height_spread=HeightSpread(sd=0.01))
    span = 25 * 5000.0
    expected = 0.01 * math.sqrt(1 / 25 + (x - 100) ** 2 / span + (y - 100) ** 2 / span)
    assert plane.height_u(x, y) == pytest.approx(expected, rel=1e-12)


@pytest.mark.slow
def test_the_covariance_is_what_repeated_fits_show():
    rng = np.random.default_rng(1)
    x, y = rng.uniform(0, 200, (2, 12))
    truth = 0.1 + 0.001 * x - 0.002 * y
    fits = [fit_plane(x, y, truth + rng.normal(0, 0.01, 12)) for _ in range(4000)]
    seen = np.cov([[p.middle_height, p.slope_x, p.slope_y] for p in fits], rowvar=False)
    stated = np.mean([p.covariance for p in fits], axis=0)
    scale = np.sqrt(np.outer(np.diag(stated), np.diag(stated)))
    assert np.abs(seen - stated).max() < 0.06 * scale.max()
    assert np.abs((seen - stated) / scale).max() < 0.06


@pytest.mark.slow
def test_the_interval_of_a_height_covers_it_nineteen_times_in_twenty():
    rng = np.random.default_rng(2)
    x, y = GRID[0][:7] + rng.uniform(0, 9, 7), GRID[1][4:11]
    z = 0.001 * x
    hits = [
        0.001 * 250 in fit_plane(x, y, z + rng.normal(0, 0.01, 7)).height(250, 30).interval
        for _ in range(2000)
    ]
    assert np.mean(hits) == pytest.approx(0.95, abs=0.015)


def test_three_points_give_a_height_but_no_doubt_unless_the_rig_is_known():
    three = ([0, 100, 0], [0, 0, 100], [0, 0.1, 0.2])
    answer = fit_plane(*three).height(100, 100)
    assert isinstance(answer, NotYet)
    assert answer.needs_n == 4
    known = fit_plane(*three, height_spread=HeightSpread(sd=0.01)).height(100, 100)
    assert known.value == pytest.approx(0.3)
    assert known.high - known.value == pytest.approx(1.96 * 0.01 * math.sqrt(3), rel=1e-3)


def test_a_plane_far_away_keeps_its_digits():
    x, y = GRID
    plane = fit_plane(x + 1e6, y - 1e6, 0.001 * x - 0.002 * y + 7)
    assert (plane.slope_x, plane.slope_y) == pytest.approx((0.001, -0.002), rel=1e-11)
    assert plane.at(1e6, -1e6) == pytest.approx(7, abs=1e-12)


def test_twist_and_bow_are_told_apart_on_a_grid():
    x, y = GRID
    u, v = x / 100 - 1, y / 100 - 1
    shape = fit_shape(x, y, 0.3 + 0.1 * u - 0.2 * v + 0.05 * u * v + 0.03 * u**2 - 0.02 * v**2)
    found = [shape.twist.value, shape.bow_x.value, shape.bow_y.value, shape.bow.value]
    assert found == pytest.approx([0.05, 0.03, -0.02, 0.01], abs=1e-12)
    assert shape.residual_sd == pytest.approx(0, abs=1e-12)


def test_one_corner_up_is_half_tilt_half_twist():
    """Constructed: corners 0, 0, 0.2, 0 stand h/4 = 0.05 off their plane."""
    shape = fit_shape(*CORNERS, [0, 0, 0.2, 0], height_spread=HeightSpread(sd=0.005))
    assert shape.twist.value == pytest.approx(0.05)
    assert shape.twist.high - 0.05 == pytest.approx(1.959964 * 0.0025, rel=1e-5)


def test_four_corners_cannot_tell_bow():
    shape = fit_shape(*CORNERS, [0, 0, 0.2, 0], height_spread=HeightSpread(sd=0.005))
    assert all(isinstance(one, NotYet) for one in (shape.bow, shape.bow_x, shape.bow_y))


def test_corners_and_middle_tell_bow_but_not_along_which_axis():
    x, y = [0, 200, 200, 0, 100], [0, 0, 200, 200, 100]
    shape = fit_shape(x, y, [0.1, 0.1, 0.1, 0.1, 0], height_spread=HeightSpread(sd=0.005))
    assert shape.bow.value == pytest.approx(0.1)
    assert isinstance(shape.bow_x, NotYet)


def test_without_spare_points_twist_waits_for_the_rigs_spread():
    twist = fit_shape(*CORNERS, [0, 0, 0.2, 0]).twist
    assert twist.reason.code is Why.NO_POINT_FOR_DOUBT
    assert twist.needs_n == 5


@pytest.mark.slow
def test_intervals_of_twist_and_bow_cover_them_nineteen_times_in_twenty():
    rng = np.random.default_rng(5)
    x, y = (axis.ravel() * 100.0 for axis in np.meshgrid(range(3), range(3)))
    u, v = x / 100 - 1, y / 100 - 1
    hits = []
    for _ in range(1500):
        shape = fit_shape(x, y, 0.02 * u * v - 0.01 * u**2 + rng.normal(0, 0.01, 9))
        hits.append((0.02 in shape.twist.interval, -0.01 in shape.bow_x.interval))
    assert np.mean(hits, axis=0) == pytest.approx([0.95, 0.95], abs=0.017)


def test_a_million_points_are_no_harder():
    rng = np.random.default_rng(6)
    x, y = rng.uniform(0, 200, (2, 1_000_000))
    plane = fit_plane(x, y, 0.001 * x + rng.normal(0, 0.01, 1_000_000))
    assert isinstance(plane.height(100, 100), Estimate)
    assert plane.slope_x == pytest.approx(0.001, abs=1e-6)


@pytest.mark.parametrize("fit", [fit_plane, fit_shape])
@pytest.mark.parametrize(
    ("points", "error"),
    [
        (([], [], []), Why.TOO_FEW_POINTS),
        (([0, 1, 2], [3, 3, 3], [0, 1, 0]), Why.POINTS_ON_A_LINE),
        (([0, 1, 0], [0, 0, 1], [0, math.inf, 0]), "place=2"),
        (([0, 1, 0, 1], [0, 0, 1], [0, 0, 0]), "don't make points"),
    ],
)
def test_what_holds_no_plane_is_refused_in_words(fit, points, error):
    with pytest.raises(ValueError, match=error):
        fit(*points)
