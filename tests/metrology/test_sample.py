"""One block, or several, described: e-Handbook values, and what each reference means."""

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.basis.reference import spread_freedom
from hostctl.metrology.spread.sample import describe, moments

DATA = Path(__file__).parents[1] / "data"
GEAR = json.loads((DATA / "spreads" / "gear.json").read_text(encoding="utf-8"))
GEAR_DIAMETERS = [
    float(row["diameter"])
    for row in csv.DictReader(
        (DATA / "spreads" / "gear.csv").read_text(encoding="utf-8").splitlines()
    )
]
MULTIPLIERS = [
    (int(row["n"]), float(row["lower_95"]), float(row["upper_95"]))
    for row in csv.DictReader(
        (DATA / "sigma_ci_multipliers.csv").read_text(encoding="utf-8").splitlines()
    )
]


@pytest.mark.parametrize(("percent", "limits"), GEAR["published"]["ci_for_sigma_percent"].items())
def test_gear_interval_of_the_handbook(percent, limits):
    # NIST/SEMATECH e-Handbook 1.3.5.8, to its printed digits
    sd = describe([GEAR_DIAMETERS], confidence=float(percent) / 100.0).sd
    assert (round(sd.low, 5), round(sd.high, 5)) == tuple(limits)
    exact = GEAR["recomputed"]["ci_for_sigma_percent"][percent]
    assert (sd.low, sd.high) == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize(("n", "low", "high"), MULTIPLIERS)
def test_interval_multipliers_of_the_table(n, low, high):
    readings = [math.sin(k) for k in range(n)]
    sd = describe([readings]).sd
    assert (sd.low / sd.value, sd.high / sd.value) == pytest.approx((low, high), rel=1e-9)


def test_first_counts_the_zero_as_a_setting():
    sample = describe([[0.02, -0.01, 0.01]], reference="first")
    assert sample.settings == 4
    assert sample.df == 3
    assert sample.sd.value == moments([0.0, 0.02, -0.01, 0.01]).sd


def test_datum_takes_the_readings_as_they_are():
    sample = describe([[1.0, 2.0, 3.0, 6.0]])
    assert sample.sd.value == pytest.approx(math.sqrt(14.0 / 3.0), rel=1e-15)
    assert sample.range == 5.0
    assert sample.largest_deviation == 3.0
    assert sample.repeatability_limit.value == pytest.approx(2.8 * sample.sd.value)


@pytest.mark.parametrize("n", [2, 3, 10, 40])
def test_freedom_of_differences_is_that_of_their_covariance(n):
    # Satterthwaite 1946 with the covariance written out as a matrix
    covariance = 2.0 * np.eye(n) - np.eye(n, k=1) - np.eye(n, k=-1)
    centred = (np.eye(n) - 1.0 / n) @ covariance
    mean, half_variance = np.trace(centred), np.trace(centred @ centred)
    freedom = spread_freedom([n], "previous")
    assert freedom.df == pytest.approx(mean**2 / half_variance, rel=1e-12)
    assert 2.0 * freedom.scale * freedom.df == pytest.approx(mean, rel=1e-12)


@pytest.mark.parametrize("n", [3, 10])
def test_differences_give_the_spread_of_one_setting(n):
    rng = np.random.default_rng(11)
    spreads = [
        describe([row], reference="previous").sd
        for row in np.diff(rng.normal(size=(2000, n + 1)), axis=1).tolist()
    ]
    assert np.mean([sd.value**2 for sd in spreads]) == pytest.approx(1.0, abs=0.06)
    assert np.mean([1.0 in sd.interval for sd in spreads]) == pytest.approx(0.95, abs=0.015)


def test_blocks_are_pooled_each_about_its_own_mean():
    sample = describe([[1.0, 2.0, 3.0], [11.0, 13.0]])
    assert sample.df == 3
    assert sample.sd.value == pytest.approx(math.sqrt(4.0 / 3.0), rel=1e-15)
    assert sample.range == 2.0


def test_an_array_gives_what_a_list_gives():
    assert describe([np.array(GEAR_DIAMETERS)]) == describe([GEAR_DIAMETERS])


@pytest.mark.parametrize(
    ("blocks", "said"),
    [
        ([], Why.NO_TWO_SETTINGS),
        ([[]], "given=0"),
        ([[1.0]], Why.NO_TWO_SETTINGS),
        ([[1.0, math.nan]], "place=2 value=nan"),
        ([[1.0, 2.0], [math.inf]], "place=1 value=inf"),
    ],
)
def test_what_can_not_be_described_says_why(blocks, said):
    with pytest.raises(NotEnough, match=said):
        describe(blocks)


def test_constant_readings_have_an_ordinary_spread_of_nothing():
    assert describe([[0.1] * 7]).sd.value == 0.0
