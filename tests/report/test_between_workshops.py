"""What counts as a workshop, and when means are held against each other."""

from dataclasses import replace

import pytest
from told_cases import analysed, ring, study

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.analysis.result.workshops import BetweenWorkshops
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.material import Block, Material, together


def of(machine: str, *blocks: tuple[float, ...], name: str = "", **changes: object) -> Material:
    made = tuple(
        Block(method="slip", operator="", point=f"p{at}", values_mm=list(values))
        for at, values in enumerate(blocks)
    )
    known = {"name": name or machine, "machine": machine, "blocks": made, "goal": None}
    return study(**known | {"reference": "datum", "zero_known": True} | changes)


ONE, OTHER, THIRD = (0.01, 0.02, -0.01), (0.03, 0.0, 0.02), (0.0, -0.02, 0.01)


def between(*materials: Material) -> BetweenWorkshops:
    (found,) = analysed(together(materials)).workshops
    return found


def test_runs_of_one_machine_are_one_workshop():
    two_machines = [of("a", ONE, name="run 1"), of("a", OTHER, name="run 2"), of("b", THIRD)]
    assert analysed(together(two_machines)).workshops == ()
    found = between(*two_machines, of("c", ONE))
    assert [(one.name, one.settings) for one in found.workshops] == [("a", 6), ("b", 3), ("c", 3)]


def test_a_file_names_no_machine_and_is_a_workshop_by_itself():
    found = between(*(of("", ONE, name=f"{at}.csv") for at in "123"))
    assert [one.name for one in found.workshops] == ["1.csv", "2.csv", "3.csv"]


def test_one_source_is_no_ring():
    assert analysed(of("a", ONE, OTHER, THIRD)).workshops == ()


@pytest.mark.parametrize(
    ("last", "why"),
    [
        (of("c", ONE, zero_known=False), Withheld.NOT_ONE_DATUM),
        (of("c", ONE, own_zeros=True), Withheld.NOT_ONE_DATUM),
        (of("c", ONE, OTHER), Withheld.SEVERAL_BLOCKS_A_WORKSHOP),
    ],
)
def test_means_are_compared_only_where_all_count_from_one_true_datum(last: Material, why: Withheld):
    alike = [of("a", ONE), of("b", OTHER)]
    assert not isinstance(between(*alike, of("c", ONE)).reproducibility, NotYet)
    found = between(*alike, last).reproducibility
    assert isinstance(found, NotYet)
    assert found.reason.code == why


def test_a_workshops_spread_is_about_each_blocks_own_mean():
    far = tuple(value + 5.0 for value in ONE)
    pooled = between(of("a", ONE, far), of("b", OTHER), of("c", THIRD)).workshops[0]
    assert pooled.s_mm == pytest.approx(between(*map(of, "abc", [ONE] * 3)).workshops[0].s_mm)


def test_a_first_reading_subtracted_is_a_setting_too():
    found = analysed(ring()).workshops[0]
    assert {one.settings for one in found.workshops} == {7}


def test_differences_of_neighbours_are_left_alone():
    assert analysed(replace(ring(), reference="previous")).workshops == ()


def test_readings_all_alike_everywhere_have_neither_h_nor_k():
    found = between(*(of(machine, (0.01,) * 4) for machine in "abc"))
    assert {(one.h, one.k) for one in found.workshops} == {(None, None)}
    assert (found.h_limit, found.k_limit) == (None, None)
