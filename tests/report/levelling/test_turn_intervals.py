"""The interval of a turn has the degrees of freedom of its heights: scipy.stats.t, and algebra."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from height_tables import table
from levelled_runs import keep_levelling
from scipy import stats
from test_heights_file import machine

from hostctl.report.document.blocks import Role
from hostctl.report.enclosed.sourced import sourced_run
from hostctl.report.kinds.levelling.document import LEVELLING
from hostctl.report.kinds.levelling.found.from_run import levelling_of
from hostctl.report.kinds.levelling.found.from_table import levelling_of_table

SCREWS = [[30.0, 30.0], [190.0, 30.0], [110.0, 190.0]]
PITCH_MM = 0.7
SIX = [
    (30, 30, 0.10),
    (190, 30, 0.25),
    (30, 190, -0.10),
    (190, 190, 0.05),
    (110, 110, 0.08),
    (110, 30, 0.17),
]
FOUR = [(30, 30, 0.10), (190, 30, 0.12), (30, 190, 0.08), (190, 190, 0.13)]
"""Of one degree of freedom: t is 12.7, and none of its turns can be told from none."""


def by_regression(rows: Any) -> Any:
    """Turns about the mean height and half their 95 % intervals in degrees: textbook least squares,
    its covariance scaled by the residuals, times scipy's t."""
    x, y, z = np.array(rows, float).T
    design = np.column_stack([np.ones_like(x), x - x.mean(), y - y.mean()])
    best, (squares,), *_ = np.linalg.lstsq(design, z)
    df = len(z) - 3
    covariance = squares / df * np.linalg.inv(design.T @ design)
    arms = np.array([[0.0, x.mean() - at, y.mean() - back] for at, back in SCREWS])
    u_mm = np.sqrt(np.einsum("ij,jk,ik->i", arms, covariance, arms))
    return (
        np.array([360 / PITCH_MM * arms @ best, 360 / PITCH_MM * u_mm * stats.t.ppf(0.975, df)]),
        df,
    )


@pytest.mark.parametrize("rows", [SIX, FOUR])
def test_half_a_turns_interval_is_students(tmp_path: Path, rows: Any):
    result = levelling_of_table(table(tmp_path, rows), machine(SCREWS, PITCH_MM))
    (degrees, halves), df = by_regression(rows)
    for turn, deg, half in zip(result.last.turns, degrees, halves, strict=True):
        assert turn.df == pytest.approx(df)
        assert turn.turn_deg == pytest.approx(abs(deg))
        assert turn.half_deg == pytest.approx(half)
        assert turn.low_mm == pytest.approx((deg - half) * PITCH_MM / 360)
        assert turn.high_mm == pytest.approx((deg + half) * PITCH_MM / 360)
        rows = LEVELLING.text(result).partition("Which screws")[2].splitlines()
        line = next(one for one in rows if one.strip().startswith(turn.screw))
        assert f" {half:.0f} " in line


def test_a_turn_that_none_is_within_stays(tmp_path: Path):
    result = levelling_of_table(table(tmp_path, FOUR), machine(SCREWS, PITCH_MM), within_mm=0.01)
    assert {turn.stays for turn in result.last.turns} == {"can't be told from none"}
    told = LEVELLING.document(result, False)
    assert told.said(Role.ANSWER)[0].endswith("too uncertain to tell any turn from none.")
    assert "These heights can't tell any turn from none." in LEVELLING.text(result)
    assert "screw-0, screw-1 and screw-2 stay: their turns can't be told" in LEVELLING.text(result)
    assert "clockwise" not in LEVELLING.text(result)


def test_of_turns_that_can_be_told_only_the_others_stay(tmp_path: Path):
    result = levelling_of_table(table(tmp_path, SIX), machine(SCREWS, PITCH_MM))
    _, half = by_regression(SIX)[0]
    for turn, half_deg in zip(result.last.turns, half, strict=True):
        assert (turn.stays == "") == (turn.turn_deg > half_deg)
    text = LEVELLING.text(result)
    assert "[A] screw-0: stays: can't be told from none\n" in text
    assert "[B] screw-1: 81° anticlockwise, a quarter of a turn less 9°\n" in text
    assert "2 of 3 screws are to be" in text
    assert "can't tell the turn of screw-0 from none" in text


async def test_of_a_run_it_is_by_the_doubt_that_its_round_had(tmp_path: Path):
    await keep_levelling(tmp_path / "runs.sqlite")
    result = levelling_of(sourced_run(tmp_path / "runs.sqlite", 1))
    for one in result.rounds[:2]:
        for turn in one.turns:
            assert turn.df is not None
            assert turn.u_deg is not None
            t = stats.t.ppf(0.975, turn.df)
            assert turn.half_deg == pytest.approx(t * turn.u_deg)
    (first, *_), (second, *_) = result.rounds[0].turns, result.rounds[1].turns
    assert first.df < second.df  # its scatter is known by the round before too
