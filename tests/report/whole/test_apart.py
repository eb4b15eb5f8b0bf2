"""Runs in weeks and machines held apart: whatever compares hands compares them."""

from datetime import UTC, datetime

import pytest
from told_cases import rig_check, study

from hostctl.errors import DataError
from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.sources.apart import apart
from hostctl.report.sources.material import together

# Week 53 of 2026 begins on 28 December and has 1 January 2027 in it (ISO 8601: the week with the
# year's first Thursday is its first; 1 January 2027 is a Friday).
MONDAY, NEW_YEAR = datetime(2026, 12, 28, tzinfo=UTC), datetime(2027, 1, 1, tzinfo=UTC)
FIRST, SECOND = study(name="run 2"), study(name="run 4", machine="attic")


def names(by: str, **only: str) -> list[str]:
    material = apart([FIRST, SECOND], by, [MONDAY, NEW_YEAR], **only)  # type: ignore[arg-type]
    found = analyse(material, None, Wish())
    return [result.name for result in found.results if result.method == "slip"]


def test_hands_are_named_by_their_run():
    assert names("run") == [
        "slip by helper-1 in run 2",
        "slip by helper-1 in run 4",
        "slip by helper-2 in run 2",
        "slip by helper-2 in run 4",
    ]


def test_hands_are_named_by_the_machine():
    assert names("machine")[:2] == ["slip by helper-1 on attic", "slip by helper-1 on bench"]


def test_two_runs_of_one_week_are_taken_together_though_the_year_changes():
    assert names("week") == ["slip by helper-1 in week 2026-53", "slip by helper-2 in week 2026-53"]


def test_one_method_and_operator_are_picked_by_their_own_names():
    assert names("run", method="slip", operator="helper-2") == [
        "slip by helper-2 in run 2",
        "slip by helper-2 in run 4",
    ]


def test_an_operator_that_is_not_there_is_refused_as_ever():
    with pytest.raises(DataError, match="no operator is called 'nobody'"):
        apart([FIRST, SECOND], "run", [MONDAY, NEW_YEAR], operator="nobody")


def test_hands_in_two_runs_are_compared_by_the_same_method():
    found = analyse(apart([FIRST, SECOND], "run", [MONDAY, NEW_YEAR]), None, Wish())
    assert found.compared is not None
    pairs = {(pair.first, pair.second, pair.fixed) for pair in found.compared.pairs}
    assert ("helper-1 in run 2", "helper-1 in run 4", "slip") in pairs


def test_where_nobody_set_anything_the_runs_stand_side_by_side():
    checks = [rig_check(), rig_check()]
    found = analyse(apart(checks, "week", [MONDAY, datetime(2027, 1, 4, tzinfo=UTC)]), None, Wish())
    assert [result.method for result in found.results] == [
        "rig-check in week 2026-53",
        "rig-check in week 2027-01",
    ]


def test_readings_and_their_order_stay_as_they_are():
    pooled, held = together([FIRST, SECOND]), apart([FIRST, SECOND], "run", [None, None])
    assert [block.values_mm for block in pooled.blocks] == [
        block.values_mm for block in held.blocks
    ]


@pytest.mark.parametrize(("by", "machine"), [("week", "bench"), ("machine", "")])
def test_a_file_that_does_not_say_it_is_refused(by: str, machine: str):
    file = study(name="old.csv", machine=machine)
    with pytest.raises(DataError, match=f"old.csv: it does not say its {by}"):
        apart([file, FIRST], by, [None, MONDAY])  # type: ignore[arg-type]
