"""A table of heights: published and constructed sets, turns by algebra, and mistakes in a table."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from height_tables import CONSTRUCTED, MOODY, TURNS, moody_rows, table
from scipy.optimize import curve_fit

from hostctl.config.load import machine_from
from hostctl.config.machine import Machine
from hostctl.config.yaml_text import Source
from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.report.kinds.levelling.document import LEVELLING
from hostctl.report.kinds.levelling.found.from_table import levelling_of_table


def machine(screws: list[list[float]], pitch_mm: float, **more: str) -> Machine:
    listed = "\n".join(
        f"  - {{name: screw-{k}, x_mm: {x}, y_mm: {y}, pitch_mm: {pitch_mm}, "
        f"raises_bed: {more.get('raises_bed', 'clockwise')}}}"
        for k, (x, y) in enumerate(screws)
    )
    span = "{from_mm: 0, to_mm: 220}"
    text = f"""machine: bench
port: sim://workshop-220
travel: {{x: {span}, y: {span}, z: {span}}}
points: [{{name: middle, x_mm: 110, y_mm: 110}}]
screws:
{listed}
"""
    return machine_from(Source("machine", text))


def test_moodys_plate_in_inches(tmp_path: Path):
    """J. C. Moody, The Tool Engineer, October 1955; both flatnesses as recomputed in its JSON."""
    result = levelling_of_table(table(tmp_path, moody_rows(), "x (in),y (in),height (in)"))
    assert len(result.last.heights) == MOODY["unique_points_without_E_W"]
    assert result.warp.minimum_zone_mm * 1000 == pytest.approx(
        MOODY["minimum_zone_flatness_um_hull_search"], abs=1e-6
    )
    assert result.warp.least_squares_mm * 1000 == pytest.approx(
        MOODY["least_squares_flatness_um"], abs=1e-5
    )


@pytest.mark.parametrize("case", CONSTRUCTED, ids=lambda case: case["id"])
def test_sets_known_by_construction(tmp_path: Path, case: dict[str, Any]):
    """The zone is measured across the slab, the construction along z: they differ by the tilt."""
    result = levelling_of_table(table(tmp_path, case["points"]))
    exact = case["exact"].get("mz_vertical", case["exact"].get("flatness"))
    assert result.warp.minimum_zone_mm == pytest.approx(exact, abs=1e-7)
    plane = case.get("recomputed", {}).get("ls_plane")
    if plane is not None:
        found = result.last.plane
        assert found.slope_x_mm_per_m / 1000 == pytest.approx(plane[1], abs=1e-9)
        assert found.slope_y_mm_per_m / 1000 == pytest.approx(plane[2], abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_plane_and_covariance_are_scipys(tmp_path: Path, seed: int):
    """scipy.optimize.curve_fit, whose covariance is scaled by the residuals as it is here."""
    chance = np.random.default_rng(seed)
    x, y = chance.uniform(0, 300, (2, 12)).round(1)
    z = (0.1 + 0.001 * x - 0.0004 * y + chance.normal(0, 0.02, 12)).round(4)
    result = levelling_of_table(table(tmp_path, zip(x, y, z, strict=True)))
    found = result.last.plane

    def plane(places: Any, level: float, slope_x: float, slope_y: float) -> Any:
        u, v = places[0] - found.middle_x_mm, places[1] - found.middle_y_mm
        return level + slope_x * u + slope_y * v

    best, covariance = curve_fit(plane, (x, y), z)
    assert found.middle_height_mm == pytest.approx(best[0], abs=1e-6)
    assert found.slope_x_mm_per_m / 1000 == pytest.approx(best[1], abs=1e-8)
    assert found.covariance == pytest.approx(covariance, rel=1e-4, abs=1e-12)


@pytest.mark.parametrize("case", TURNS, ids=lambda case: case["id"])
@pytest.mark.parametrize("raises", ["clockwise", "anticlockwise"])
def test_turns_are_those_of_plain_algebra(tmp_path: Path, case: dict[str, Any], raises: str):
    level, slope_x, slope_y = case["plane"]
    points = [(x, y, level + slope_x * x + slope_y * y) for x, y in case["knobs"]]
    keep = None if case["reference"] == "mean" else f"screw-{case['reference']}"
    on = machine(case["knobs"], case["pitch"], raises_bed=raises)
    result = levelling_of_table(table(tmp_path, points), on, within_mm=0.01, keep=keep)
    sign = {raises: 1.0}
    for turn, exact in zip(result.last.turns, case["exact_degrees"], strict=True):
        assert turn.turn_deg * sign.get(turn.direction, -1.0) == pytest.approx(exact, abs=0.05)


def test_heights_read_again_tell_their_own_doubt(tmp_path: Path):
    """With warp in it, what lies off the plane would be far too much."""
    points = [(x, y) for x in (0, 100, 200) for y in (0, 100, 200)]
    bowed = [(x, y, round(0.1 * ((x - 100) / 100) ** 2, 4)) for x, y in points]
    once = levelling_of_table(table(tmp_path, bowed))
    twice = levelling_of_table(table(tmp_path, [*bowed, *((x, y, z + 0.002) for x, y, z in bowed)]))
    assert once.last.plane.sd_mm is not None
    assert twice.last.plane.sd_mm is not None
    assert twice.last.plane.sd_mm < 0.1 * once.last.plane.sd_mm
    assert isinstance(twice.warp.bow_x, Estimate)
    assert twice.warp.bow_x.low <= 0.1 <= twice.warp.bow_x.high
    assert "warp counts as doubt" in LEVELLING.text(once)
    assert "warp counts as doubt" not in LEVELLING.text(twice)


def test_three_points_have_a_plane_and_no_doubt(tmp_path: Path):
    result = levelling_of_table(
        table(tmp_path, [(0, 0, 0.0), (200, 0, 0.2), (0, 200, 0.0)]), within_mm=0.05
    )
    assert (result.last.tilt.low_mm, result.last.plane.covariance) == (None, None)
    assert result.last.tilt.value_mm == pytest.approx(0.2)
    assert isinstance(result.warp.twist, NotYet)
    text = LEVELLING.text(result, explained=True)
    assert "As measured, no: over what was measured it is tilted by 0.200 mm." in text
    assert "Three points always lie on a plane" in text


@pytest.mark.parametrize(
    ("head", "rows", "why"),
    [
        ("x_mm,y_mm", [(0, 0)], "has no column for height"),
        ("x_mm,y_mm,height_mm", [], "holds no height"),
        ("x_mm,y_mm,height", [(0, 0, 1)], ":2: height: '1' has no unit, and its column names none"),
        ("x,y_mm,height_mm", [(0, 0, 1)], ":2: x: '0' has no unit"),
        (
            "x_mm,y_mm,height_mm",
            [(0, 0, 0), (200, 0, -120), (0, 200, 235.5)],
            "the heights of column 'height_mm' reach over 355.5 mm. Name their unit",
        ),
        ("x_mm,y_mm,height_mm", [(0, 0, 1), (1, "", 1)], ":3: y: nothing stands there"),
        ("x_mm,y_mm,height_mm", [(0, 0, 1), (1, 1, "high")], ":3: height: 'high' is not a number"),
        ("x_mm,y_mm,height_mm", [(0, 0, 1), (1, 1, 1)], "a plane needs at least 3"),
        ("x_mm,y_mm,height_mm", [(0, 0, 1), (1, 1, 1), (2, 2, 1)], "all points lie on one line"),
    ],
)
def test_what_is_wrong_with_a_table_is_said_where_it_is(tmp_path: Path, head, rows, why: str):
    with pytest.raises(DataError, match=r"heights\.csv") as raised:
        levelling_of_table(table(tmp_path, rows, head))
    assert why in str(raised.value)
    assert "\n" not in str(raised.value)


def test_what_stays_must_be_there(tmp_path: Path):
    flat = table(tmp_path, [(0, 0, 0.0), (200, 0, 0.2), (0, 200, 0.0)])
    with pytest.raises(DataError, match="no screw or point is called 'corner'"):
        levelling_of_table(flat, keep="corner")
