"""What a tie's observations say, and whether a later one still says it, by separate sums."""

from datetime import UTC, datetime

import numpy as np
import pytest
from pydantic import ValidationError
from scipy import stats
from tie_people import true_gap

from hostctl.config.study import Gauge
from hostctl.records import Reading, Temperatures, TieContact
from hostctl.run.procedures.tie_shift import _t_95, shift_between

CONTACT = TieContact(
    by="touch",
    open_z_mm=0.44,
    closed_z_mm=0.43,
    between_low_mm=0.0,
    between_high_mm=0.0,
    plunger_z_mm=5.5,
    set_z_mm=0.1,
    reading_z_mm=5.0,
)


def reading(value_mm: float, resolution_mm: float) -> Reading:
    return Reading(
        value_mm=value_mm,
        resolution_mm=resolution_mm,
        taken_at=datetime(2026, 11, 28, tzinfo=UTC),
        source="typed",
        at=None,
        temperatures=Temperatures(nozzle_c=None, bed_c=None),
    )


def test_the_constant_lies_between_the_last_height_without_contact_and_the_first_with_it():
    """0.1 - 5.0 + 5.5 = 0.6; with a reading of 0.30 pressed in, 0.90 less 0.44 and less 0.43; and
    half a graduation to either side."""
    for value_mm, grows in ((0.30, True), (-0.30, False)):
        found = CONTACT.constant_mm(reading(value_mm, 0.002), grows_pressed=grows)
        assert found == pytest.approx((0.459, 0.471))


@pytest.mark.parametrize(
    ("df", "quantile"),
    [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (6, 2.447), (10, 2.228), (30, 2.042)],
)
def test_students_t_as_in_the_table(df: int, quantile: float):
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, column 0.975 (from memory)."""
    assert _t_95(df) == pytest.approx(quantile, rel=0.002)


def test_a_shift_is_told_from_0_by_its_expanded_uncertainty():
    """Middles 1, 2, 3 and 7, 9: means 2 and 8; squares 2 + 2 with 3 degrees of freedom."""
    before = [(1.0, 1.0), (2.0, 2.0), (3.0, 3.0)]
    shift = shift_between(before, [(7.0, 7.0), (9.0, 9.0)])
    assert shift is not None
    assert shift.shift_mm == pytest.approx(6.0)
    assert shift.limit_mm == pytest.approx(3.182 * ((4 / 3) * (1 / 3 + 1 / 2)) ** 0.5, rel=0.001)
    assert shift.moved


@pytest.mark.parametrize("times", [1, 2, 3, 4, 6, 9])
def test_of_fine_observations_it_is_students_test_of_two_means(times: int):
    """SciPy's."""
    before = [0.1, 0.103, 0.106, 0.1, 0.102, 0.101, 0.099, 0.104, 0.1][:times]
    for after in ([0.108, 0.111], [0.104, 0.1]):
        found = shift_between(fine(before), fine(after))
        assert found is not None
        expected = stats.ttest_ind(after, before)
        interval = expected.confidence_interval(0.95)
        assert found.shift_mm == pytest.approx(np.mean(after) - np.mean(before))
        assert found.limit_mm == pytest.approx(0.5 * (interval.high - interval.low), rel=2e-3)
        assert found.moved == (expected.pvalue < 0.05)


def fine(values: list[float]) -> list[tuple[float, float]]:
    return [(value - 5e-6, value + 5e-6) for value in values]


def test_alike_observations_are_no_surer_than_their_steps():
    """t of 6 degrees of freedom, an arcsine law's deviation, and no less than half a step."""
    steps = [(0.46, 0.47)] * 5
    shift = shift_between(steps, steps[:3])
    assert shift is not None
    by_scatter_mm = 2.447 * 0.01 / 8**0.5 * (1 / 5 + 1 / 3) ** 0.5
    assert shift.limit_mm == pytest.approx(max(by_scatter_mm, 0.005), rel=0.001)
    assert not shift.moved
    many = shift_between(steps * 8, steps * 8)
    assert many is not None
    assert many.limit_mm == pytest.approx(0.005)


def test_one_observation_each_tells_nothing():
    assert shift_between([(0.0, 0.01)], [(0.5, 0.51)]) is None


@pytest.mark.parametrize(
    ("kind", "changes"),
    [
        ("rig-check", {"operators": []}),
        ("probe-loop", {"operators": [], "gauge": Gauge(kind="probe")}),
    ],
)
def test_other_kinds_refuse_the_true_gap(kind: str, changes: dict):
    with pytest.raises(ValidationError, match=f"a study of kind {kind} does not make"):
        true_gap(kind=kind, methods=[], **changes)
