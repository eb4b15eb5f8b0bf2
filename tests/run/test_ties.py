"""A study of the true gap: the tie first, checked on the way and at the end, each deed in place."""

import json
from itertools import pairwise

import pytest
from bench_files import machine_file
from small_printer import SmallPrinter
from tie_people import SAFE_HEAT, AtTheBench, at_work, tie, true_gap
from workshop import Workshop, said

from hostctl.deeds import ReadIndicator, SetGap
from hostctl.errors import MachineError
from hostctl.news import DecisionKept, HoldBegan, PromptOpened, ReadingKept, Word
from hostctl.store.rows import PLUNGER_SIGN, TIE_CHECKED, TIE_CONTACT


def data_of(shop: Workshop, kind: str) -> list[dict]:
    """Of the events of this kind, in order."""
    return [json.loads(event.data) for event in shop.store.events if event.kind == kind]


def order_of(shop: Workshop) -> list[tuple[int, int, int]]:
    """Where each reading was taken: block, round, trial."""
    places = [one.place for one in shop.store.readings]
    return [(place.block, place.round, place.trial) for place in places]


def test_a_tie_by_touch_comes_first_and_is_checked_at_the_end():
    shop, person = at_work()
    assert shop.carry_out(person).complete
    assert shop.told(HoldBegan) == []
    assert shop.printer.offences == []
    assert order_of(shop) == [
        *((2, 1, 1), (2, 1, 2)),
        *((1, 1, 1), (1, 1, 2), (1, 1, 3)),
        *((3, 1, 1), (3, 1, 2)),
    ]
    methods = [one.place.method for one in shop.store.readings]
    assert methods == ["tie"] * 2 + ["paper-slip"] * 3 + ["tie"] * 2
    assert not any(one.is_zero for one in shop.store.readings)
    assert data_of(shop, PLUNGER_SIGN) == [{"grows_pressed": True}]
    (checked,) = data_of(shop, TIE_CHECKED)
    assert (checked["block"], checked["moved"], checked["doubted"]) == (3, False, [])


def test_each_deed_of_a_touch_is_in_its_place():
    shop, person = at_work(true_gap(tie(times=2), trials=1))
    shop.carry_out(person)
    deeds = [deed for deed, before in pairwise(person.deeds[::-1]) if deed != before][::-1]
    assert deeds[:17] == [
        *("press-plunger", "wire-contact", "lay-plate", "meter-leads"),
        *("join-lamp", "watch-leads"),
        *("join-by-hand", "try-blade", "watch-lamp", "join-by-hand", "read-indicator"),
        *("watch-lamp", "join-by-hand", "read-indicator"),
        *("clear-away", "turn-screw", "set-gap"),
    ]
    assert deeds[-1] == "clear-away"


def test_where_the_nozzle_touched_is_on_disk_before_its_reading_is_asked_for():
    shop, person = at_work()
    known: list[int] = []

    def look(item: object) -> None:
        if isinstance(item, PromptOpened) and isinstance(item.prompt.deed, ReadIndicator):
            known.append(len(data_of(shop, TIE_CONTACT)))

    shop.on_news = look
    shop.carry_out(person)
    assert known == [1, 2, 2, 2, 2, 3, 4]
    contact = data_of(shop, TIE_CONTACT)[0]
    assert contact == {
        **{"block": 2, "round": 1, "trial": 1, "attempt": 1, "point": "front-left", "by": "touch"},
        **{"open_z_mm": 0.44, "closed_z_mm": 0.43, "between_low_mm": 0.0, "between_high_mm": 0.0},
        **{"plunger_z_mm": 5.5, "set_z_mm": 0.0, "reading_z_mm": 5.0},
    }


def test_by_hand_from_the_record_the_gap_comes_out():
    """The bed lies at -0.1, so a setting at z 0 leaves 0.1 mm: C - s r, whichever way it counts."""
    for grows in (True, False):
        shop, person = at_work(grows=grows)
        shop.carry_out(person)
        contact, sign = data_of(shop, TIE_CONTACT)[0], 1 if grows else -1
        tied, setting = shop.store.readings[0].reading, shop.store.readings[2].reading
        above_mm = contact["set_z_mm"] - contact["reading_z_mm"] + contact["plunger_z_mm"]
        constants = [
            above_mm + sign * tied.value_mm - contact[z] for z in ("open_z_mm", "closed_z_mm")
        ]
        gaps = [constant - sign * setting.value_mm for constant in constants]
        assert gaps[0] - 1e-9 <= 0.1 <= gaps[1] + 1e-9
        assert gaps[1] - gaps[0] == pytest.approx(0.01)


def test_by_feelers_what_lay_between_is_an_interval():
    shop, person = at_work(true_gap(tie(by="feelers", contact=None, blade_error_mm=0.005)))
    assert shop.carry_out(person).complete
    contact = data_of(shop, TIE_CONTACT)[0]
    assert (contact["between_low_mm"], contact["between_high_mm"]) == (0.1, 0.15)
    assert (contact["open_z_mm"], contact["closed_z_mm"], contact["plunger_z_mm"]) == (0, 0, 5.0)
    assert "clear-away" not in person.deeds


def test_by_gauge_block_the_block_is_out_before_the_plunger_comes():
    block = tie(by="gauge-block", contact=None, block_mm=1.0, block_error_mm=2e-4, feel_mm=0.01)
    shop, person = at_work(true_gap(block))
    assert shop.carry_out(person).complete
    contact = data_of(shop, TIE_CONTACT)[0]
    assert (contact["between_low_mm"], contact["between_high_mm"]) == (1.0, 1.0)
    assert (contact["open_z_mm"], contact["closed_z_mm"], contact["plunger_z_mm"]) == (1, 1, 5.0)
    first = person.deeds.index("set-on-block")
    assert person.deeds[first : first + 3] == ["set-on-block", "clear-away", "read-indicator"]


def test_a_tie_study_makes_ties_alone_and_counts_them():
    study = true_gap(kind="tie", methods=[], points=["front-left", "back-left"], trials=2)
    shop, person = at_work(study)
    assert shop.carry_out(person).complete
    assert {one.place.method for one in shop.store.readings} == {"tie"}
    assert sorted(order_of(shop)) == [(1, 1, 1), (1, 1, 2), (2, 1, 1), (2, 1, 2)]
    assert [one.place.trials_done for one in shop.store.readings] == [0, 1, 2, 3]
    assert {one.place.trials_total for one in shop.store.readings} == {4}
    assert len(data_of(shop, TIE_CONTACT)) == 4


def test_ties_are_not_counted_among_a_studys_trials():
    shop, person = at_work(true_gap(tie(checks=1), trials=4))
    shop.carry_out(person)
    done = [
        (item.place.trials_done, item.place.trials_total, item.place.counts)
        for item in shop.told(ReadingKept)
        if isinstance(item, ReadingKept)
    ]
    assert done == [
        *((0, 4, False), (0, 4, False), (0, 4, True), (1, 4, True), (2, 4, False), (2, 4, False)),
        *((2, 4, True), (3, 4, True), (4, 4, False), (4, 4, False)),
    ]
    assert shop.desk.course.trials_done == 4


def test_checks_come_evenly_on_the_way():
    """Two of 6 trials: after 2, after 4, and at the end."""
    shop, person = at_work(true_gap(tie(checks=2), trials=6))
    shop.carry_out(person)
    blocks = [block for block, _, _ in order_of(shop)]
    assert blocks == [2, 2, 1, 1, 3, 3, 1, 1, 4, 4, 1, 1, 5, 5]
    assert [checked["block"] for checked in data_of(shop, TIE_CHECKED)] == [3, 4, 5]


def test_with_a_tie_at_each_point_each_has_a_block_of_its_own_and_a_check():
    points = ["front-left", "back-left"]
    shop, person = at_work(true_gap(points=points, trials=1))
    assert shop.carry_out(person).complete
    assert [block for block, _, _ in order_of(shop)] == [3, 3, 4, 4, 1, 2, 5, 5, 6, 6]
    assert [checked["point"] for checked in data_of(shop, TIE_CHECKED)] == points
    assert person.deeds.count("lay-plate") == 4


def spoiled_after(readings: int, person: AtTheBench, shop: Workshop, by_mm: float):
    """The bezel is turned once so many readings are kept."""

    def turn(prompt):
        if len(shop.store.readings) >= readings:
            person.zero_mm = by_mm
        return None

    person.on_prompt = turn


def test_a_tie_that_moved_is_told_its_readings_marked_and_a_new_one_made():
    shop, person = at_work(true_gap(tie(times=3, checks=1), trials=4))
    spoiled_after(4, person, shop, 0.06)
    assert shop.carry_out(person).complete
    assert [block for block, _, _ in order_of(shop)] == [2, 2, 2, 1, 1, 3, 3, 3, 1, 1, 4, 4]
    middle, end = data_of(shop, TIE_CHECKED)
    assert middle["moved"]
    assert middle["shift_mm"] == pytest.approx(-0.06)
    assert middle["doubted"] == [[1, 1, 1, 1], [1, 1, 2, 1]]
    assert not end["moved"]  # against the new tie, not the old
    told = [item.what for item in shop.told(DecisionKept) if isinstance(item, DecisionKept)]
    assert any("moved by -0.060 mm" in what and "2 readings" in what for what in told)
    assert all(one.void is None for one in shop.store.counting)


def test_a_bed_that_grew_warmer_makes_a_check_due():
    shop, person = at_work(true_gap(tie(stale_k=5.0), trials=3))

    def warm(prompt):
        if prompt.deed == SetGap(method="paper-slip"):
            shop.printer.bed_c = 28.0
        return None

    person.on_prompt = warm
    assert shop.carry_out(person).complete
    assert [block for block, _, _ in order_of(shop)] == [2, 2, 1, 3, 3, 1, 1, 4, 4]
    decided = [event.text for event in shop.store.events if event.kind == "decided"]
    assert decided[0] == "The tie is checked: the bed is at 28.0 °C and was at 21.0 °C."


def test_after_a_hold_that_is_lifted_a_check_is_due():
    shop, person = at_work()
    held: list[bool] = []

    def hold(prompt):
        if prompt.deed == SetGap(method="paper-slip") and not held:
            held.append(True)
            return said(prompt, Word.HOLD)
        return None

    person.on_prompt = hold
    assert shop.carry_out(person).complete
    assert [block for block, _, _ in order_of(shop)] == [2, 2, 3, 3, 1, 1, 1, 4, 4]


def test_a_tie_held_in_its_midst_is_begun_anew_and_what_was_read_is_kept():
    shop, person = at_work()
    held: list[bool] = []

    def hold(prompt):
        if prompt.place and (prompt.place.block, prompt.place.trial) == (2, 2) and not held:
            held.append(True)
            return said(prompt, Word.HOLD)
        return None

    person.on_prompt = hold
    assert shop.carry_out(person).complete
    assert [block for block, _, _ in order_of(shop)] == [2, 3, 3, 1, 1, 1, 4, 4]
    assert all(one.void is None for one in shop.store.counting)
    assert person.deeds.count("meter-leads") == 3  # anew after the hold, and at the check


def test_what_is_redone_is_read_again_after_a_touch_of_its_own():
    shop, person = at_work()
    redone: list[bool] = []

    def redo(prompt):
        if isinstance(prompt.deed, ReadIndicator) and not redone:
            redone.append(True)
            return said(prompt, Word.REDO)
        return None

    person.on_prompt = redo
    assert shop.carry_out(person).complete
    at = [(one["trial"], one["attempt"]) for one in data_of(shop, TIE_CONTACT) if one["block"] == 2]
    assert at == [(1, 1), (1, 2), (2, 1)]


@pytest.mark.parametrize("mains", [None, True])
def test_on_a_bed_not_said_to_be_off_the_mains_no_run_begins(mains: bool | None):
    heat = SAFE_HEAT.model_copy(update={"mains_bed": mains})
    shop = Workshop(true_gap(), file=machine_file(heat=heat))
    with pytest.raises(ExceptionGroup) as caught:
        shop.carry_out(AtTheBench(SmallPrinter()))
    (refused,) = caught.value.exceptions
    assert isinstance(refused, MachineError)
    assert "heated by mains voltage" in str(refused)
    assert shop.prompts == []
    assert shop.store.run is None
