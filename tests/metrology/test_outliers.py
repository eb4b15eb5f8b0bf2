"""Readings that stand out: Grubbs and generalised extreme studentised deviates."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.oddities.outliers import (
    Side,
    Suspect,
    extreme_deviate_steps,
    extreme_deviates,
    grubbs,
    grubbs_limit,
    with_and_without,
)

DATA = Path(__file__).parents[1] / "data" / "outliers"
URANIUM = json.loads((DATA / "grubbs_uranium.json").read_text())
URANIUM_READINGS = [float(text) for text in URANIUM["data"]]

# Rosner 1983, Technometrics 25, table 1, as e-Handbook 1.3.5.17.3 works it (from memory)
# fmt: off
ROSNER = [
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56,
    1.58, 1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10,
    2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92,
    2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01,
]
# fmt: on
ROSNER_R = [3.118, 2.942, 3.179, 2.810, 2.815, 2.848, 2.279, 2.310, 2.101, 2.067]
ROSNER_LIMITS = [3.158, 3.151, 3.143, 3.136, 3.128, 3.120, 3.111, 3.103, 3.094, 3.085]


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


def test_extreme_deviates_give_rosners_steps_and_three_outliers():
    # the handbook cuts its figures to three decimals, where it does not round them
    steps = extreme_deviate_steps(ROSNER, 10)
    assert [step.distance for step in steps] == pytest.approx(ROSNER_R, abs=1e-3)
    assert [step.limit for step in steps] == pytest.approx(ROSNER_LIMITS, abs=1e-3)
    assert [suspect.value for suspect in extreme_deviates(ROSNER, 10)] == [6.01, 5.42, 5.34]


def test_nothing_is_removed_results_stand_side_by_side():
    both = with_and_without(URANIUM_READINGS, (grubbs(URANIUM_READINGS, Side.HIGH),))
    assert both.indices_left_out == (7,)
    assert (both.mean_all, both.sd_all) == pytest.approx((206.43375, 15.852564404987783))
    rest = np.array(URANIUM_READINGS[:7])
    assert (both.mean_rest, both.sd_rest) == pytest.approx((rest.mean(), rest.std(ddof=1)))


def suspect(index: int) -> Suspect:
    return Suspect(index=index, value=0.0, distance=9.0, limit=1.0, p_value=0.0)


def test_one_reading_left_over_has_no_spread():
    rest = with_and_without([1.0, 2.0, 9.0], (suspect(0), suspect(2)))
    assert isinstance(rest.sd_rest, NotYet)
    assert rest.mean_rest == 2.0
    with pytest.raises(NotEnough, match="every reading"):
        with_and_without([1.0, 2.0], (suspect(0), suspect(1)))


def test_the_p_value_is_alpha_at_the_limit():
    sample = np.array([0.0] * 5 + [1.0] * 4)
    suspect = grubbs([*sample, 3.0], Side.BOTH)
    again = grubbs([*sample, 3.0], Side.BOTH, alpha=suspect.p_value)
    assert again.distance == pytest.approx(again.limit, rel=1e-9)


def test_readings_all_alike_have_no_outlier():
    assert isinstance(grubbs([0.1] * 7), NotYet)
    assert extreme_deviates([0.1] * 7, 2) == ()


@pytest.mark.parametrize("values", [[], [1.0], [1.0, 2.0], [1.0, 2.0, np.nan], [1.0, 2.0, np.inf]])
def test_what_cannot_be_tested_is_refused(values):
    with pytest.raises(NotEnough):
        grubbs(values)
    with pytest.raises(NotEnough):
        extreme_deviates(values, 1)
