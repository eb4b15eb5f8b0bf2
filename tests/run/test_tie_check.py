"""The rule by which a run says that its tie moved, against SciPy's test of two means.

How often it is wrong: tests/data/trueness.md.
"""

import numpy as np
import pytest
from scipy import stats

from hostctl.run.procedures.tie_contact import shift_between

ALIKE = [(0.10, 0.12)]


def fine(values):
    return [(value - 5e-6, value + 5e-6) for value in values]


@pytest.mark.parametrize("times", [1, 2, 3, 4, 6, 9])
def test_a_check_of_fine_touches_is_students_test_of_two_means(times):
    before, after = (
        [0.1, 0.103, 0.106, 0.1, 0.102, 0.101, 0.099, 0.104, 0.1][:times],
        [0.108, 0.111],
    )
    for values in (after, [0.104, 0.1]):
        found = shift_between(fine(before), fine(values))
        assert found is not None
        assert found.shift_mm == pytest.approx(np.mean(values) - np.mean(before))
        expected = stats.ttest_ind(values, before)
        interval = expected.confidence_interval(0.95)
        assert found.limit_mm == pytest.approx(0.5 * (interval.high - interval.low), rel=2e-3)
        assert found.moved == (expected.pvalue < 0.05)


def test_a_bezel_turned_by_one_graduation_is_within_what_rounding_does():
    held = shift_between(ALIKE * 5, [(0.11, 0.13)] * 3)
    moved = shift_between(ALIKE * 5, [(0.13, 0.15)] * 3)
    assert held is not None
    assert moved is not None
    assert not held.moved
    assert moved.moved


def test_one_touch_against_another_tells_nothing():
    assert shift_between(ALIKE, ALIKE) is None
    assert shift_between(ALIKE * 2, []) is None
