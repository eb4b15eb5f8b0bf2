"""On the simulator, with known truth, the whole chain recovers each sigma at the stated rate."""

from math import comb
from pathlib import Path

import pytest
from simulated_truth import Recovered, recovered

SEEDS = range(101, 111)


def most_misses(n: int, rate: float = 0.05, risk: float = 0.001) -> int:
    """Fewest misses that a true rate of 5 % exceeds in no more than one test run in a thousand."""
    chance, misses = (1.0 - rate) ** n, 0
    while chance < 1.0 - risk:
        misses += 1
        chance += comb(n, misses) * rate**misses * (1.0 - rate) ** (n - misses)
    return misses


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> list[Recovered]:
    folder: Path = tmp_path_factory.mktemp("simulated")
    return [one for seed in SEEDS for one in recovered(seed, folder)]


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_the_sigma_of_hand_and_axis_lies_in_its_interval_as_often_as_promised(
    found: list[Recovered],
):
    settings = [one for one in found if one.name != "rig"]
    missed = [one for one in settings if not one.holds]
    print(f"seeds {SEEDS}: {len(missed)} of {len(settings)} missed: {missed}")
    assert len(settings) >= 38  # a rig check that scatters more than the study takes none out
    assert len(missed) <= most_misses(len(settings))


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_the_sigma_of_the_rig_lies_in_its_interval_as_often_as_promised(found: list[Recovered]):
    rigs = [one for one in found if one.name == "rig"]
    assert len(rigs) == len(SEEDS)
    assert sum(not one.holds for one in rigs) <= most_misses(len(rigs))


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_the_intervals_are_no_wider_than_the_readings_allow(found: list[Recovered]):
    """They must leave out what is not so: three times the truth, from 12 settings."""
    held = [one.low_mm <= 3.0 * one.truth_mm <= one.high_mm for one in found]
    assert sum(held) <= 0.1 * len(held)
