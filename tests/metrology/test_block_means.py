"""Block means held against each other: NIST's certified F ratios; rounding makes no difference."""

import json
from pathlib import Path

import numpy as np
import pytest

from hostctl.metrology.oddities.block_means import ALPHA, blocks_apart

SEED = 20_261_128
DATA = Path(__file__).parents[1] / "data" / "strd_anova"
CASES = json.loads((DATA / "certified.json").read_text())["cases"]


def blocks_of(case: str) -> list[list[float]]:
    """The groups of a reference data set of NIST StRD."""
    groups: dict[str, list[float]] = {}
    for line in (DATA / CASES[case]["file"]).read_text().splitlines()[60:]:
        group, value = line.split()
        groups.setdefault(group, []).append(float(value))
    return list(groups.values())


def test_points_are_compared_as_the_analysis_of_variance_does():
    blocks, certified = blocks_of("SmLs01"), CASES["SmLs01"]["certified"]
    found = blocks_apart([blocks], resolution=0.0)
    assert found is not None
    assert found.test.statistic == pytest.approx(float(certified["F"]), rel=1e-8)
    assert found.test.df == (8, 180)
    means = [sum(block) / len(block) for block in blocks]
    assert (found.lowest, found.highest) == pytest.approx((min(means), max(means)))


def test_instruments_that_agree_are_not_apart():
    assert float(CASES["SiRstv"]["certified"]["F"]) < 2.0
    assert blocks_apart([blocks_of("SiRstv")], resolution=0.0) is None


def test_only_blocks_of_one_place_are_compared():
    near, far = [0.0, 0.01, 0.0, 0.02], [0.5, 0.51, 0.5, 0.52]
    assert blocks_apart([[near], [far]], resolution=0.01) is None
    found = blocks_apart([[near], [near, far]], resolution=0.01)
    assert found is not None
    assert (found.lowest, found.highest) == pytest.approx((0.0075, 0.5075))


def test_readings_all_alike_may_lie_a_graduation_apart():
    low, high, higher = [0.01] * 40, [0.02] * 40, [0.04] * 40
    assert blocks_apart([[low, high]], resolution=0.01) is None
    assert blocks_apart([[low, higher]], resolution=0.01) is not None
    assert blocks_apart([[[0.01], [0.04]]], resolution=0.01) is None  # nothing shows the scatter


@pytest.mark.parametrize("sigma", [0.05, 0.2, 0.5, 2.0])
def test_blocks_of_one_mean_are_seldom_told_apart_wherever_it_lies(sigma: float):
    rng, studies = np.random.default_rng(SEED), 1000
    for mean in (0.0, 0.35, 0.5):
        seen = sum(
            blocks_apart([np.round(rng.normal(mean, sigma, (4, 6))).tolist()], resolution=1.0)
            is not None
            for _ in range(studies)
        )
        assert seen / studies <= ALPHA + 3.5 * (ALPHA * (1.0 - ALPHA) / studies) ** 0.5
