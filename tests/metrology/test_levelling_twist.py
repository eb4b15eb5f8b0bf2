"""Turns that were not all made: what of them strains a plate, and how much of the last was made."""

import numpy as np
import pytest

from hostctl.metrology.levelling.twist import share_made, twist_of

CORNERS = np.array([[1.0, x, y] for y in (-80.0, 80.0) for x in (-80.0, 80.0)])
"""Rows at four screws, from the middle of a plate."""
TRIANGLE = CORNERS[:3]


def test_one_corner_of_four_strains_by_a_quarter_of_its_turn():
    """By symmetry: (1, -1, -1, 1) / 4 is the part of one corner that no plane has."""
    raises = np.array([1.0, 0.0, 0.0, 0.0])
    assert twist_of(CORNERS, raises) == pytest.approx(np.array([0.25, -0.25, -0.25, 0.25]))


def test_raises_on_a_plane_and_three_screws_strain_nothing():
    on_plane = CORNERS @ np.array([0.2, 0.004, -0.003])
    assert twist_of(CORNERS, on_plane) == pytest.approx(np.zeros(4), abs=1e-12)
    assert twist_of(TRIANGLE, np.array([0.5, 0.0, -0.2])) == pytest.approx(np.zeros(3), abs=1e-12)


@pytest.mark.parametrize("share", [-0.5, 0.0, 0.4, 1.0, 1.2])
@pytest.mark.parametrize("homing_mm", [0.0, 0.07])
def test_what_was_made_of_a_turn_is_told_by_the_tilt_whatever_homing_shifts(share, homing_mm):
    made, begun = np.array([0.5, 0.0, 0.0, 0.0]), np.array([0.0, -0.4, 0.0, 0.0])
    by_least_squares, *_ = np.linalg.lstsq(CORNERS, made + share * begun, rcond=None)
    moved = CORNERS @ by_least_squares + homing_mm
    assert share_made(CORNERS, moved, made, begun) == pytest.approx(share)


def test_a_turn_that_was_none_is_no_share():
    assert share_made(CORNERS, np.ones(4), np.zeros(4), np.zeros(4)) == 0.0
