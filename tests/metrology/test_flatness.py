"""Minimum-zone flatness against cases known by construction, recomputed data and other methods."""

import csv
import itertools
import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.geometry.flatness import least_squares_flatness, minimum_zone

DATA = Path(__file__).parent.parent / "data"
CONSTRUCTED = json.loads((DATA / "flatness_constructed.json").read_text())["cases"]
MOODY = json.loads((DATA / "flatness_moody.json").read_text())["recomputed"]


def moody_points_mm():
    """Moody 1955: the seven lines that agree, a 4 inch grid, heights in 1e-5 inch."""
    rows = csv.DictReader((DATA / "flatness_moody_heights.csv").read_text().splitlines())
    points = [
        (
            float(r["x_grid"]) * 101.6,
            float(r["y_grid"]) * 101.6,
            float(r["height_1e-5_inch"]) * 254e-6,
        )
        for r in rows
        if r["line"] != "E_W"
    ]
    return np.unique(np.round(points, 12), axis=0).T


def vertical_width_by_programme(x, y, z):
    """Oracle: the same linear programme by HiGHS, primal form."""
    ones = np.ones_like(x)
    plane = np.column_stack([ones, x, y])
    sides = np.vstack([np.column_stack([-plane, -ones]), np.column_stack([plane, -ones])])
    free = [(None, None)] * 3 + [(0, None)]
    found = linprog([0, 0, 0, 1], A_ub=sides, b_ub=np.concatenate([-z, z]), bounds=free)
    return 2 * found.fun


def width_by_hull(points):
    """Oracle: least width over every face and every pair of edges of the convex hull."""
    hull = ConvexHull(points)
    edges = {
        tuple(sorted(pair)) for face in hull.simplices for pair in itertools.combinations(face, 2)
    }
    lines = np.array([points[a] - points[b] for a, b in edges])
    crossed = np.cross(lines[:, None], lines[None]).reshape(-1, 3)
    lengths = np.linalg.norm(crossed, axis=1)
    normals = crossed[lengths > 1e-9 * lengths.max()]
    normals = np.vstack([normals / np.linalg.norm(normals, axis=1)[:, None], hull.equations[:, :3]])
    return np.ptp(points[hull.vertices] @ normals.T, axis=0).min()


@pytest.mark.parametrize("case", CONSTRUCTED, ids=lambda case: case["id"])
def test_cases_known_by_construction(case):
    x, y, z = np.array(case["points"]).T
    exact = case["exact"].get("mz_vertical", case["exact"].get("flatness"))
    assert minimum_zone(x, y, z).vertical_width == pytest.approx(exact, abs=1e-15)


def test_the_crossing_cases_plane_and_corners_are_found():
    case = next(c for c in CONSTRUCTED if c["id"] == "cross_5x5")
    zone = minimum_zone(*np.array(case["points"]).T)
    found = (zone.height, zone.slope_x, zone.slope_y)
    assert found == pytest.approx(case["exact"]["mz_plane"], abs=1e-14)
    assert zone.touching == (0, 4, 20, 24)


def test_moodys_plate():
    zone, squares = minimum_zone(*moody_points_mm()), least_squares_flatness(*moody_points_mm())
    assert zone.n == MOODY["unique_points_without_E_W"]
    assert zone.width * 1000 == pytest.approx(
        MOODY["minimum_zone_flatness_um_hull_search"], abs=1e-7
    )
    assert squares.peak_to_valley * 1000 == pytest.approx(
        MOODY["least_squares_flatness_um"], abs=1e-5
    )
    assert squares.peak + squares.valley == pytest.approx(squares.peak_to_valley)


@pytest.mark.parametrize("seed", range(12))
def test_width_across_the_slab_is_the_hulls(seed):
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(0, 200, (2, 25))
    z = rng.normal(0, 3, 25) + 0.2 * x - 0.1 * y  # rough and steep, so that the cosine matters
    assert minimum_zone(x, y, z).width == pytest.approx(width_by_hull(np.column_stack([x, y, z])))


@pytest.mark.parametrize("seed", range(12))
def test_gridded_and_rounded_heights_do_not_trip_the_programme(seed):
    """Collinear points and ties by the dozen, as beds have them."""
    rng = np.random.default_rng(seed)
    x, y = (axis.ravel() * 45.0 for axis in np.meshgrid(range(5), range(4)))
    z = rng.integers(-3, 4, 20) / 100 + 0.001 * x
    zone = minimum_zone(x, y, z)
    assert zone.vertical_width == pytest.approx(vertical_width_by_programme(x, y, z), abs=1e-12)
    assert zone.gap < 1e-15


@pytest.mark.parametrize("bend", ["rough", "bowl", "saddle"])
def test_ten_thousand_points_with_the_duality_gap_closed(bend):
    rng = np.random.default_rng(12781)
    x, y = rng.uniform(0, 220, (2, 10_000))
    z = {
        "rough": rng.normal(0, 0.02, 10_000) + 0.001 * x,
        "bowl": 1e-5 * ((x - 110) ** 2 + (y - 90) ** 2),
        "saddle": 1e-5 * (x - 110) * (y - 90) + rng.uniform(-1e-3, 1e-3, 10_000),
    }[bend]
    zone = minimum_zone(x, y, z)
    assert zone.gap <= 1e-15
    middle = zone.height + zone.slope_x * x + zone.slope_y * y
    across = (z - middle) / math.hypot(1, zone.slope_x, zone.slope_y)
    assert np.ptp(across) <= zone.width * (1 + 1e-12)
    assert len(zone.touching) >= 3


def test_the_minimum_zone_is_never_wider_than_least_squares():
    rng = np.random.default_rng(3)
    x, y, z = rng.uniform(0, 200, (3, 40))
    z = z / 1000
    assert minimum_zone(x, y, z).width <= least_squares_flatness(x, y, z).peak_to_valley


def test_deviations_from_least_squares_are_those_of_numpy():
    """numpy's lstsq, across the plane: FLTp, FLTv, FLTq of ISO 12781-1."""
    rng = np.random.default_rng(4)
    x, y = rng.uniform(0, 200, (2, 30))
    z = 0.3 * x - 0.2 * y + rng.normal(0, 0.5, 30)
    plane = np.column_stack([np.ones(30), x, y])
    (a, b, c) = np.linalg.lstsq(plane, z, rcond=None)[0]
    across = (z - a - b * x - c * y) / math.hypot(1, b, c)
    got = least_squares_flatness(x, y, z)
    expected = (across.max(), -across.min(), np.sqrt(np.mean(across**2)))
    assert (got.peak, got.valley, got.root_mean_square) == pytest.approx(expected, rel=1e-9)
    assert got.n == 30


def test_far_from_the_origin_nothing_is_lost():
    x, y, z = np.array(CONSTRUCTED[3]["points"]).T
    assert minimum_zone(x + 1e5, y - 1e5, z + 100).vertical_width == pytest.approx(0.15, abs=1e-12)


def test_the_middle_plane_is_amid_the_points_wherever_they_lie():
    rng = np.random.default_rng(8)
    x, y = rng.uniform(300, 520, 40), rng.uniform(-90, 30, 40)
    z = 0.004 * x - 0.007 * y + rng.normal(0, 0.02, 40)
    zone = minimum_zone(x, y, z)
    off = z - (zone.height + zone.slope_x * x + zone.slope_y * y)
    assert off.max() == pytest.approx(-off.min(), rel=1e-6)
    assert np.ptp(off) == pytest.approx(zone.vertical_width, rel=1e-4)


def test_heights_in_micrometres_over_millimetres_are_noticed():
    with pytest.raises(NotEnough, match=Why.UNITS_DIFFER):
        minimum_zone([0, 2, 0, 2], [0, 0, 2, 2], [0, 30, 10, -20])


def test_three_points_are_flat():
    assert minimum_zone([0, 1, 0], [0, 0, 1], [5, 3, 9]).width == pytest.approx(0, abs=1e-15)


def test_two_heights_at_one_place_count_with_their_difference():
    zone = minimum_zone([0, 10, 0, 0], [0, 0, 10, 0], [0, 0, 0, 0.02])
    assert zone.vertical_width == pytest.approx(0.02, abs=1e-15)


@pytest.mark.parametrize(
    ("points", "error"),
    [
        (([], [], []), Why.TOO_FEW_POINTS),
        (([0, 1], [0, 1], [0, 0]), Why.TOO_FEW_POINTS),
        (([0, 1, 2], [0, 1, 2], [0, 1, 0]), Why.POINTS_ON_A_LINE),
        (([5, 5, 5], [7, 7, 7], [0, 1, 2]), Why.POINTS_ON_A_LINE),
        (([0, 100, 100], [0, 150, 150], [0, 30, 30]), Why.POINTS_ON_A_LINE),  # rounding hides it
        (([0, 1, 0], [0, 0, 1], [0, math.nan, 0]), "place=2"),
        (([0, 1, math.inf], [0, 0, 1], [0, 0, 0]), "place=3"),
        (([0, 1, 0], [0, 0], [0, 0, 0]), "don't make points"),
    ],
)
def test_what_holds_no_plane_is_refused_in_words(points, error):
    with pytest.raises(ValueError, match=error):
        minimum_zone(*points)
