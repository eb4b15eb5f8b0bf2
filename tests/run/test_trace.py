"""The course of a loop in bounded memory: means of neighbours, and a drift that was put in."""

from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.run.record.trace import MOST_MEANS, Trace


def traced(values: list[float], points: tuple[str, ...] = ("back",)) -> Trace:
    """points: in turn."""
    trace = Trace()
    for at, value in enumerate(values):
        trace = trace.after(points[at % len(points)], value)
    return trace


@given(st.lists(st.floats(-5, 5), min_size=1, max_size=700))
def test_its_means_are_those_of_neighbours_and_few_however_many_there_were(values):
    trace = traced(values)
    groups = [values[at : at + trace.each] for at in range(0, len(values), trace.each)]
    assert trace.means_mm == pytest.approx([fmean(group) - values[0] for group in groups], abs=1e-9)
    assert trace.in_last == len(groups[-1])
    assert len(trace.means_mm) <= MOST_MEANS


def test_what_drifts_evenly_is_told_as_three_quarters_of_its_way():
    trace = traced([index / 1000 for index in range(1, 1025)])
    assert trace.drift_mm == pytest.approx(0.75 * 1.024, rel=0.03)


def test_of_few_readings_no_drift_is_told():
    assert traced([0.1] * 7).drift_mm is None
    assert traced([0.1] * 8).drift_mm == 0


def test_points_at_different_heights_lie_together():
    heights = {"front": 0.0, "back": 0.4, "middle": -1.2}
    values = [height + index / 1e4 for index in range(50) for height in heights.values()]
    trace = traced(values, tuple(heights))
    assert max(trace.means_mm) - min(trace.means_mm) == pytest.approx(49 / 1e4, rel=0.05)
    assert trace.firsts_mm == heights
