"""The first hour in somebody else's hands: right, and wrong once at a few questions of each kind.

All 500 machines: `python tests/begin/begin_trials.py 500` (tests/data/begin.md).
"""

import pytest
from begin_trials import kind_of, slips_for
from begun import begun
from slips import Slip


@pytest.mark.parametrize("seed", range(4))
def test_a_newcomer_is_led_to_true_heights_and_directions(seed: int):
    found = begun(seed)
    assert found.failings == []
    assert len(found.asked) > 100


@pytest.mark.slow
@pytest.mark.parametrize("seed", [10, 11])
def test_one_wrong_answer_does_no_harm_and_there_is_a_way_back(seed: int):
    right = begun(seed)
    failed = [(slip, begun(seed, slip).failings) for slip in slips_for(right, 8)]
    assert [one for one in failed if one[1]] == []


def test_a_number_misread_where_the_plunger_meets_the_bed_is_asked_again():
    """It was taken once, and made every direction wrong."""
    right = begun(2)
    after_up = right.asked.index("contact.up")
    shows = next(
        at
        for at, key in enumerate(right.asked, 1)
        if at > after_up + 3 and key == "contact.shows_mm"
    )
    found = begun(2, Slip(at=shows, how="other", which=7))
    assert found.failings == []
    assert "contact.shows_again_mm" in found.asked


def test_the_trials_reach_every_kind_of_question():
    right = begun(0)
    slips = list(slips_for(right, 1000))
    assert {kind_of(right.asked[slip.at - 1]) for slip in slips} == {*map(kind_of, right.asked)}
