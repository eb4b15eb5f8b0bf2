"""From a plane to turns: exact where readings are, within travel, never twisting."""

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest
from simulated_beds import SCREWS_AT, thin_plate

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.geometry.bed import HeightSpread
from hostctl.metrology.levelling.advice import Screw, Turning, advise, with_fixed_corner
from hostctl.metrology.levelling.heights import heights_of

DATA = Path(__file__).parent.parent / "data"
TURNS = json.loads((DATA / "levelling_turns.json").read_text())
THREADS = list(csv.DictReader((DATA / "metric_threads.csv").read_text().splitlines()))
GRID = np.array([(x, y) for y in (20.0, 110.0, 200.0) for x in (20.0, 110.0, 200.0)])


def screws(at, pitch=0.5, **more):
    return [
        Screw(name=f"s{k}", x_mm=x, y_mm=y, pitch_mm=pitch, **more) for k, (x, y) in enumerate(at)
    ]


def measured(places, z, **more):
    places = np.asarray(places, dtype=float)
    return heights_of([f"p{k}" for k in range(len(z))], *places.T, [z, z], **more)


def tilted(places, slope_x=0.004, slope_y=-0.002):
    places = np.asarray(places, dtype=float)
    return 0.1 + places @ np.array([slope_x, slope_y])


@pytest.mark.parametrize("case", TURNS["cases"], ids=lambda case: case["id"])
def test_turns_worked_out_elsewhere(case):
    """levelling_turns.json: constructed, plain algebra, not published."""
    height, slope_x, slope_y = case["plane"]
    at = case["knobs"]
    z = height + np.array(at) @ np.array([slope_x, slope_y])
    keep = "mean" if case["reference"] == "mean" else tuple(at[case["reference"]])
    advice = advise(measured(at, z), screws(at, case["pitch"]), keep=keep)
    assert advice.raises_mm == pytest.approx(case["exact_dz"], abs=1e-9)
    assert [turn.turn_deg for turn in advice.turns] == pytest.approx(
        case["exact_degrees"], abs=1e-6
    )


def test_how_much_worse_a_height_is_known_outside_the_points():
    exact = TURNS["extrapolation"]
    heights = measured(GRID, tilted(GRID), known=HeightSpread(sd=math.sqrt(2), df=math.inf))
    plane = advise(heights, screws(SCREWS_AT[4])).plane
    assert plane.told(plane.arms(110, 110)[0]).u == pytest.approx(
        exact["exact_sd_at_centre"], abs=1e-6
    )
    assert plane.told(plane.arms(5, 5)[0]).u == pytest.approx(exact["exact_sd_at_5_5"], abs=1e-6)


@pytest.mark.parametrize("thread", THREADS, ids=lambda row: row["thread"])
def test_degrees_by_coarse_pitch(thread):
    """ISO 261 coarse pitches: degrees for 0.01 mm, and their uncertainty alike."""
    at = SCREWS_AT[3]
    heights = measured(at, tilted(at), known=HeightSpread(sd=0.01, df=math.inf))
    for turn in advise(heights, screws(at, float(thread["coarse_pitch_mm"]))).turns:
        by_table = float(thread["degrees_per_0.01mm"])
        assert turn.turn_deg == pytest.approx(turn.raise_mm / 0.01 * by_table, rel=1e-3)
        assert turn.u_deg == pytest.approx(turn.u_mm / 0.01 * by_table, rel=1e-3)


@pytest.mark.parametrize("count", [3, 4, 5, 6])
@pytest.mark.parametrize("soft", [False, True])
def test_a_stiff_plate_and_a_soft_one_end_level(count, soft):
    """Advised raises lie on a plane: the thin plate through them is that plane, nothing bends."""
    at = np.array(SCREWS_AT[count], dtype=float)
    advice = advise(measured(GRID, tilted(GRID)), screws(at.tolist()))
    raised = thin_plate(at, advice.raises_mm, GRID)
    if not soft:
        ones = np.column_stack([np.ones(count), at])
        flat = np.linalg.lstsq(ones, advice.raises_mm, rcond=None)[0]
        raised = np.column_stack([np.ones(len(GRID)), GRID]) @ flat
    after = tilted(GRID) + raised
    assert np.ptp(after) < 1e-9
    assert after.mean() == pytest.approx(tilted(GRID).mean())


def test_a_warped_bed_is_turned_by_its_plane_alone():
    at = SCREWS_AT[4]
    u, v = (GRID - 110.0).T / 90.0
    flat = advise(measured(GRID, tilted(GRID)), screws(at)).raises_mm
    warped = advise(measured(GRID, tilted(GRID) + 0.2 * u * v), screws(at)).raises_mm
    assert warped == pytest.approx(flat, abs=1e-12)


def test_the_whole_bed_can_be_raised():
    at = SCREWS_AT[4]
    heights = measured(GRID, tilted(GRID))
    higher = advise(heights, screws(at), raise_mm=0.3).raises_mm
    assert higher == pytest.approx(advise(heights, screws(at)).raises_mm + 0.3)


def test_another_height_lets_all_screws_reach():
    at = SCREWS_AT[4]
    heights = measured(at, tilted(at))
    wanted = advise(heights, screws(at)).raises_mm
    tight = screws(at, can_raise_mm=0.2)
    advice = advise(heights, tight)
    assert advice.reachable
    assert advice.whole
    assert advice.raises_mm.max() == pytest.approx(0.2)
    assert advice.shift_mm == pytest.approx(0.2 - wanted.max())
    assert np.ptp(advice.raises_mm - wanted) < 1e-12


def test_where_no_height_does_the_part_that_can_be_reached_is_told():
    at = SCREWS_AT[4]
    heights = measured(at, tilted(at))
    wanted = advise(heights, screws(at)).raises_mm
    advice = advise(heights, screws(at, can_raise_mm=0.2, can_lower_mm=0.1))
    assert not advice.reachable
    assert not advice.whole
    assert np.ptp(advice.raises_mm) == pytest.approx(0.3)
    assert advice.share == pytest.approx(0.3 / np.ptp(wanted))
    assert advice.left.value_mm == pytest.approx((1 - advice.share) * np.ptp(tilted(at)))


def test_a_turn_too_large_to_be_made_the_wrong_way_is_made_smaller_with_all_others():
    at = SCREWS_AT[6]
    heights = measured(GRID, tilted(GRID))
    whole = advise(heights, screws(at)).raises_mm
    advice = advise(heights, screws(at), largest_mm=0.1)
    assert np.abs(advice.raises_mm).max() == pytest.approx(0.1)
    assert advice.raises_mm == pytest.approx(whole * advice.share)
    assert not advice.whole
    assert advice.reachable


def test_what_turning_adds():
    """A habit of 5 % shifts all turns alike, 5 % each by itself; play and angle only if turned."""
    covariance = Turning(relative_u=0.05, angle_u_deg=36.0, play_mm=0.0).covariance(
        np.array([1.0, 0.0]), np.array([0.5, 0.5])
    )
    assert covariance == pytest.approx(np.array([[0.005 + 0.05**2, 0.0], [0.0, 0.0]]))


def test_screws_on_one_line_hold_no_plane():
    at = [(0, 0), (50, 50), (100, 100)]
    with pytest.raises(NotEnough):
        advise(measured(GRID, tilted(GRID)), screws(at))


@pytest.mark.parametrize("travel_mm", [math.inf, 0.2])
def test_two_screws_turn_the_bed_about_a_fixed_corner(travel_mm):
    """By hand: a screw is raised by what the corner stands above it."""
    at, corner = SCREWS_AT[4][:2], (200.0, 200.0)
    places = [*at, corner, (110.0, 110.0)]
    heights = measured(places, tilted(places))
    two = screws(at, can_raise_mm=travel_mm, can_lower_mm=travel_mm)
    advice = advise(heights, with_fixed_corner(two, corner, "corner"), keep=corner)
    wanted = tilted([corner])[0] - tilted(at)
    share = min(1.0, travel_mm / max(abs(wanted)))
    assert share == 1.0 or advice.share == pytest.approx(share)
    assert advice.raises_mm == pytest.approx([*(share * wanted), 0.0], abs=1e-12)
    assert advice.turns[2].turning_u_mm == 0.0


def test_a_corner_is_fixed_beside_two_screws_alone():
    three = screws(SCREWS_AT[3])
    assert with_fixed_corner(three, (0.0, 0.0)) == three
    assert with_fixed_corner(three[:2], "mean") == three[:2]
