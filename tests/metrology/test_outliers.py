"""Readings that stand out: Grubbs' test."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.oddities.outliers import (
    Side,
    grubbs,
    grubbs_limit,
)

DATA = Path(__file__).parents[1] / "data" / "outliers"
URANIUM = json.loads((DATA / "grubbs_uranium.json").read_text())
URANIUM_READINGS = [float(text) for text in URANIUM["data"]]


def test_grubbs_finds_the_uranium_outlier():
    # e-Handbook 1.3.5.17.1 (from memory): G 2.4687, critical 2.032, 245.57 is an outlier
    suspect = grubbs(URANIUM_READINGS, Side.HIGH)
    assert suspect.distance == pytest.approx(URANIUM["recomputed"]["G"], rel=1e-12)
    assert suspect.limit == pytest.approx(URANIUM["published"]["critical_one_sided_5pct"], abs=5e-4)
    assert (suspect.index, suspect.value, suspect.stands_out) == (7, 245.57, True)
    assert suspect.p_value < 0.05


def test_grubbs_on_the_low_side_looks_at_the_lowest():
    suspect = grubbs(URANIUM_READINGS, Side.LOW)
    assert (suspect.index, suspect.stands_out) == (0, False)


with (DATA / "grubbs_critical.csv").open() as file:
    TABLE = [{key: float(word) for key, word in row.items()} for row in csv.DictReader(file)]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"n={row['n']:.0f}")
def test_the_limits_are_those_of_the_table(row):
    n = int(row["n"])
    got = {
        "one_sided_5pct": grubbs_limit(n, 0.05, Side.HIGH),
        "one_sided_1pct": grubbs_limit(n, 0.01, Side.LOW),
        "two_sided_5pct": grubbs_limit(n, 0.05),
        "two_sided_1pct": grubbs_limit(n, 0.01),
    }
    assert got == pytest.approx({key: row[key] for key in got}, rel=1e-8)


def test_the_p_value_is_alpha_at_the_limit():
    sample = np.array([0.0] * 5 + [1.0] * 4)
    suspect = grubbs([*sample, 3.0], Side.BOTH)
    again = grubbs([*sample, 3.0], Side.BOTH, alpha=suspect.p_value)
    assert again.distance == pytest.approx(again.limit, rel=1e-9)


def test_readings_all_alike_have_no_outlier():
    assert isinstance(grubbs([0.1] * 7), NotYet)


@pytest.mark.parametrize("values", [[], [1.0], [1.0, 2.0], [1.0, 2.0, np.nan], [1.0, 2.0, np.inf]])
def test_what_cannot_be_tested_is_refused(values):
    with pytest.raises(NotEnough):
        grubbs(values)
