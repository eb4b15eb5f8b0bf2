"""Levelling simulated beds with known truth: tests/data/levelling.md has all 2,000."""

from pathlib import Path

import numpy as np
import pytest
from levelling_promises import FAULTS, PAGE, Share, faulty, judged, page
from simulated_beds import SCREWS_AT, drawn_bed

from hostctl.metrology.levelling.advice import advise

BEDS, FAULTY_BEDS = 300, 100


@pytest.mark.slow
def test_beds_are_levelled_within_three_rounds():
    beds = judged(BEDS)
    assert beds.within_stated.at_least(0.95)
    assert beds.worse.at_most(0.05)
    assert beds.held.at_least(0.95)
    assert beds.alarms.at_most(0.05)
    assert beds.beyond == 0
    assert not page(beds, {})[1]


@pytest.mark.slow
@pytest.mark.parametrize("kind", FAULTS)
def test_faults_well_above_the_noise_are_noticed(kind):
    found = [one for one in (faulty(kind, seed) for seed in range(FAULTY_BEDS)) if one]
    assert len(found) > FAULTY_BEDS / 2
    assert Share(sum(one.noticed for one in found), len(found)).at_least(0.95)


@pytest.mark.parametrize("seed", range(40))
def test_without_noise_the_advised_turns_are_exact(seed):
    """Of a rigid bed, to 0.1 degree; once turned so, nothing is left."""
    bed = drawn_bed(seed)
    bed.soft, bed.scatter, bed.resolution, bed.largest_mm = False, 0.0, 0.0, np.inf
    bed.own_shape = np.zeros(len(bed.points))
    ones = np.column_stack([np.ones(len(bed.screws)), bed.at_screws])
    flat = np.linalg.lstsq(ones, bed.offsets, rcond=None)[0]
    mean = np.column_stack([np.ones(len(bed.points)), bed.points]) @ flat
    exact = mean.mean() - ones @ flat
    heights = bed.measure()
    advice = bed.advice(heights)
    turns = advice.turns
    for turn, raised in zip(turns, exact + advice.shift_mm, strict=True):
        assert turn.turn_deg == pytest.approx(360 * raised / turn.screw.pitch_mm, abs=0.1)
    bed.play, bed.too_far, bed.slack = 0.0, 0.0, np.zeros(len(turns))
    bed.turn(np.array([turn.raise_mm for turn in turns]))
    assert bed.tilt() < 1e-9


def test_the_beds_are_as_varied_as_the_page_says():
    beds = [drawn_bed(seed) for seed in range(200)]
    assert {len(bed.screws) for bed in beds} == set(SCREWS_AT)
    assert {bed.soft for bed in beds} == {False, True}
    assert {bed.resolution for bed in beds} == {0.0, 0.001, 0.01}
    assert max(bed.tilt() for bed in beds) > 1.5
    assert min(bed.scatter for bed in beds) < 0.003 < 0.025 < max(bed.scatter for bed in beds)
    assert all(advise(bed.measure(), bed.screws).reachable for bed in beds[:50])


def test_the_page_is_of_two_thousand_beds():
    text = Path(PAGE).read_text()
    assert "2,000 simulated beds" in text
    assert "| beds with a turn beyond travel or the largest | 0 | 0 |" in text
