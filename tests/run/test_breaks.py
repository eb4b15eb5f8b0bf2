"""What breaks into a run: words of the operator, faults, a full disk. It stands, and says why."""

import asyncio
import json

import pytest
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter
from workshop import Workshop, obliging, probe_loop, rig_check, said, study_file

from hostctl.config.study import Gauge, Warmth
from hostctl.errors import LinkError, StoreError
from hostctl.link.reply import Greeting
from hostctl.news import (
    CountdownTicked,
    HoldBegan,
    HoldLifted,
    Moving,
    Prompt,
    PromptClosed,
    PromptKind,
    PromptOpened,
    RunFinished,
    TrialMarked,
    Word,
)
from hostctl.run.holds.holding import BED_MAY_HEAT
from hostctl.store.rows import NewReading, StoredReading

ON_HOLD = "The run is on hold."


def saying(word: Word, at: int, readings=(0.02, -0.01, 0.0, 0.01, 0.03, 0.02)):
    """Obliging, but says `word` to the prompt number `at`, counted from 1."""
    asked: list[Prompt] = []
    rest = obliging(readings)

    def answer(prompt: Prompt):
        asked.append(prompt)
        return said(prompt, word) if len(asked) == at else rest(prompt)

    return answer


def typing(*readings_mm: float):
    """Obliging, and types these one after the other."""
    return obliging(readings_mm)


# ------------------------------------------------------------------ words


def test_hold_at_a_prompt_stands_still_until_lifted_then_the_trial_is_begun_again():
    shop = Workshop(study_file())
    finished = shop.carry_out(saying(Word.HOLD, at=6))  # trial 1 is being set
    assert finished.complete
    assert [item.reason for item in shop.told(HoldBegan)] == ["Hold was said on terminal."]
    assert shop.told(HoldLifted) == [HoldLifted(channel="terminal")]
    assert shop.asked()[4:9] == ["confirm", "set", "(confirm)", "confirm", "set"]
    assert shop.printer.commands.count("G28") == 1  # the position was never lost
    assert shop.store.marks == []


@pytest.mark.parametrize("seconds_left", [3, 1])
def test_hold_during_the_countdown_calls_the_motion_off(seconds_left):
    shop = Workshop(study_file())
    at_hold: list[int] = []

    def hold_once(item: object) -> None:
        match item:
            case CountdownTicked(seconds_left=left) if left == seconds_left and not at_hold:
                at_hold.append(len(shop.printer.moves))
                shop.hold_now()
            case PromptOpened(prompt=prompt) if prompt.text.startswith(ON_HOLD):
                at_hold.append(len(shop.printer.moves))

    shop.on_news = hold_once
    assert shop.carry_out(obliging()).complete
    assert at_hold == [0, 0]


@pytest.mark.parametrize("command", ["G1 X30 Y30 F3000", "G1 Z2 F300", "G1 Z1 F60", "G28"])
def test_hold_while_moving_lets_the_present_move_end_and_begins_no_other(command):
    shop = Workshop(study_file())
    moves: list[str] = []

    def hold_once(sent: str) -> None:
        if sent == command and not moves:
            moves.extend([*shop.printer.moves, sent])
            shop.hold_now()

    def look(item: object) -> None:
        if isinstance(item, PromptOpened) and item.prompt.text.startswith(ON_HOLD):
            assert shop.printer.moves == moves

    shop.printer.before, shop.on_news = hold_once, look
    assert shop.carry_out(obliging()).complete
    assert [item.reason for item in shop.told(HoldBegan)] == ["Hold was said on phone."]
    assert shop.printer.offences == []


def test_redo_repeats_the_trial_and_says_so_in_the_record():
    shop = Workshop(study_file())
    shop.carry_out(saying(Word.REDO, at=7))  # at the reading of trial 1
    assert shop.store.values_mm() == [0.02, -0.01, 0.0]
    assert [one.kept.place.attempt for one in shop.store.counting] == [2, 1, 1]
    (mark,) = shop.store.marks
    assert (mark.trial, mark.attempt, mark.mark) == (1, 1, "void")
    assert mark.reason == "redo was said on terminal"
    assert [item.mark for item in shop.told(TrialMarked)] == ["void"]


def test_redo_before_anything_is_done_means_the_trial_just_read_which_stays_marked():
    shop = Workshop(study_file())
    shop.carry_out(saying(Word.REDO, at=8))  # trial 2 begins: the screw is to be turned away
    assert [kept.reading.value_mm for kept in shop.store.readings] == [0.0, 0.02, -0.01, 0.0, 0.01]
    assert shop.store.values_mm() == [-0.01, 0.0, 0.01]
    assert [one.void for one in shop.store.record().readings][1] == "redo was said on terminal"


def test_a_repeated_trial_is_turned_away_by_an_amount_of_its_own():
    shop = Workshop(study_file(trials=1), seed=3)
    shop.carry_out(saying(Word.REDO, at=7))
    first, again = [p.text for p in shop.prompts if p.text.startswith("Turn the front")][1:]
    assert first != again


def test_skip_leaves_the_trial_out_and_says_so_in_the_record():
    shop = Workshop(study_file())
    finished = shop.carry_out(saying(Word.SKIP, at=6))
    assert finished.complete
    assert [one.kept.place.trial for one in shop.store.counting] == [2, 3]
    assert [(mark.trial, mark.mark) for mark in shop.store.marks] == [(1, "skipped")]


def test_with_previous_a_redo_at_the_zeroing_voids_the_reading_just_kept():
    shop = Workshop(study_file(reference="previous", trials=2))
    shop.carry_out(saying(Word.REDO, at=8))
    assert [kept.place.attempt for kept in shop.store.readings] == [1, 1, 2, 1]
    assert len(shop.store.counting) == 2


@pytest.mark.parametrize(("at", "parks"), [(5, False), (6, False), (7, True)])
def test_end_stops_for_today_and_moves_nothing_while_hands_may_be_in(at, parks):
    """At a reading hands are out: it parks. While the screw is turned or set, nothing moves."""
    shop = Workshop(study_file())
    finished = shop.carry_out(saying(Word.END, at=at))
    assert not finished.complete
    assert finished.reason == "ended on terminal; 0 of 3 trials are done"
    assert ("G1 X0 Y200 F3000" in shop.printer.moves) == parks
    assert shop.printer.commands[-2:] == ["M104 S0", "M140 S0"]
    last = shop.store.events[-1]
    assert (last.kind, json.loads(last.data)) == ("ended", {"complete": False})


def test_end_before_the_first_motion_moves_nothing():
    shop = Workshop(study_file())
    assert not shop.carry_out(saying(Word.END, at=1)).complete
    assert shop.printer.moves == []


def test_end_ends_a_hold_too():
    shop = Workshop(study_file())
    answers = {6: Word.HOLD, 7: Word.END}
    asked: list[Prompt] = []

    def person(prompt: Prompt):
        asked.append(prompt)
        word = answers.get(len(asked))
        return said(prompt, word) if word else obliging()(prompt)

    assert not shop.carry_out(person).complete


# ------------------------------------------------------------------ readings in doubt


def test_a_far_reading_is_asked_for_again_and_taken_when_typed_again():
    shop = Workshop(study_file(trials=1))
    shop.carry_out(typing(0.9, 0.9))
    assert shop.store.values_mm() == [0.9]
    assert "0.9 mm is further from zero than 0.5 mm" in shop.prompts[-1].text
    assert shop.store.kinds().count("asked again") == 1


def test_a_reading_far_from_a_zero_that_is_not_0_names_the_zero():
    shop = Workshop(study_file(trials=1, gauge=Gauge(kind="typed", plausible_mm=0.15)))
    values = iter([0.21, 0.0, 0.0])

    def person(prompt: Prompt):
        if prompt.kind in (PromptKind.ZERO, PromptKind.READ):
            return said(prompt, Word.READING, next(values))
        return said(prompt)

    shop.carry_out(person)
    assert shop.prompts[-1].text == (
        "0 mm is 0.21 mm from this block's zero (0.21 mm), more than 0.15 mm. "
        "Look again; type it once more if it is so."
    )


def test_a_far_reading_that_was_a_slip_is_put_right():
    shop = Workshop(study_file(trials=1))
    shop.carry_out(typing(0.9, 0.09))
    assert shop.store.values_mm() == [0.09]


def test_another_far_reading_is_asked_for_once_more():
    shop = Workshop(study_file(trials=1))
    shop.carry_out(typing(0.9, 0.8, 0.8))
    assert shop.store.values_mm() == [0.8]
    assert shop.store.kinds().count("asked again") == 2


def test_a_reading_between_graduations_is_asked_for_again_and_never_taken():
    shop = Workshop(study_file(trials=1))
    shop.carry_out(typing(0.015, 0.015, 0.02))
    assert shop.store.values_mm() == [0.02]
    assert "between two graduations of 0.01 mm" in shop.prompts[-1].text


@pytest.mark.parametrize("value_mm", [0.07, -0.29, 0.57 - 0.28, 3 * 0.01])
def test_decimals_cost_nothing(value_mm):
    shop = Workshop(study_file(trials=1))
    shop.carry_out(typing(value_mm))
    assert shop.store.values_mm() == [value_mm]


def test_how_far_is_counted_from_the_blocks_own_zero():
    shop = Workshop(study_file(trials=1))

    def person(prompt: Prompt):
        value_mm = {PromptKind.ZERO: 3.0, PromptKind.READ: 3.4}.get(prompt.kind)
        return said(prompt) if value_mm is None else said(prompt, Word.READING, value_mm)

    shop.carry_out(person)
    assert shop.store.values_mm() == [3.4]
    assert "asked again" not in shop.store.kinds()


def test_a_far_touch_of_the_probe_waits_for_a_person():
    shop = Workshop(probe_loop(points=["front-left"], trials=2))
    shop.printer.touches_mm = [2.5, 0.01]
    shop.carry_out(obliging())
    assert shop.asked() == ["(confirm)", "confirm"]
    assert shop.store.values_mm() == [2.5, 0.01]


# ------------------------------------------------------------------ faults


def failing_once(shop: Workshop, command: str, nth: int = 1):
    """The board resets when it gets `command` for the nth time."""
    seen: list[str] = []

    def fail(sent: str) -> None:
        if sent == command:
            seen.append(sent)
            if len(seen) == nth:
                shop.printer.fail("the controller has restarted")

    return fail


def test_a_reset_in_mid_move_holds_says_why_homes_on_the_word_and_begins_the_block_again():
    shop = Workshop(study_file())
    shop.printer.before = failing_once(shop, "G1 X30 Y30 F3000", nth=3)  # going to trial 2
    finished = shop.carry_out(obliging([0.01, 0.02, 0.03, 0.04]))
    assert finished.complete
    (hold,) = shop.told(HoldBegan)
    assert "the controller has restarted" in hold.reason
    assert shop.printer.connections == 2
    assert shop.printer.commands.count("G28") == 2
    assert [(mark.trial, mark.mark, mark.reason) for mark in shop.store.marks] == [
        (None, "void", "zero lost")
    ]
    assert [kept.place.round for kept in shop.store.readings] == [1, 1, 2, 2, 2, 2]
    assert shop.store.values_mm() == [0.02, 0.03, 0.04]


def test_a_hold_is_recorded_with_its_reason_and_the_wire():
    shop = Workshop(study_file())
    shop.printer.before = failing_once(shop, "G28")
    shop.carry_out(obliging())
    (hold,) = [event for event in shop.store.events if event.kind == "hold"]
    assert "the controller has restarted" in hold.text
    assert "G92 Z0" in json.loads(hold.data)["wire"]


def test_a_fault_while_a_prompt_is_open_withdraws_it_at_once():
    shop = Workshop(study_file())
    unplugged: list[Prompt] = []

    def person(prompt: Prompt):
        if prompt.kind is PromptKind.SET and not unplugged:
            unplugged.append(prompt)
            shop.printer.fail("unplugged")
            return None
        return obliging()(prompt)

    assert shop.carry_out(person).complete
    closed = [item for item in shop.told(PromptClosed) if item.prompt_id == unplugged[0].prompt_id]
    assert [item.because for item in closed] == ["withdrawn: unplugged"]
    assert "unplugged" in shop.told(HoldBegan)[0].reason


@pytest.mark.parametrize("at", ["Lay the 4 mm gauge block", "Turn the indicator to zero"])
def test_a_gauge_block_left_on_the_bed_by_a_fault_is_taken_off_before_anything_homes(at):
    shop = Workshop(study_file(reference="datum", trials=1, gauge=Gauge(block_mm=4.0)))
    moves_so_far: list[int] = []

    def person(prompt: Prompt):
        moves_so_far.append(len(shop.printer.moves))
        if prompt.text.startswith(at) and shop.printer.connections == 1:
            shop.printer.fail("unplugged")
            return None
        return obliging()(prompt)

    assert shop.carry_out(person).complete
    asked = [prompt.text for prompt in shop.prompts]
    held = next(n for n, text in enumerate(asked) if text.startswith(ON_HOLD))
    assert asked[held + 1] == "Take the gauge block off the bed."
    assert moves_so_far[held + 1] == moves_so_far[held]
    assert asked[held + 2].startswith("Lay the 4 mm gauge block")
    assert len(shop.store.counting) == 1


def test_redo_as_the_gauge_block_goes_takes_its_zero_again():
    shop = Workshop(study_file(reference="datum", trials=1, gauge=Gauge(block_mm=4.0)))
    assert shop.carry_out(saying(Word.REDO, at=4)).complete  # the zero is read, the block to go
    assert shop.prompts[3].text.startswith("Take the gauge block")
    assert [(mark.trial, mark.attempt, mark.mark) for mark in shop.store.marks] == [(0, 1, "void")]
    zeros = [kept.place.attempt for kept in shop.store.readings if kept.is_zero]
    assert zeros == [1, 2]


def test_a_head_in_the_wrong_place_is_caught_before_any_reading_is_taken():
    shop = Workshop(study_file(trials=1))

    def divert_once(sent: str) -> None:
        shop.printer.diverted_mm = 1.0 if sent == "G1 Z5 F60" and not shop.told(HoldBegan) else 0.0

    shop.printer.before = divert_once
    assert shop.carry_out(obliging()).complete
    assert "the head is at" in shop.told(HoldBegan)[0].reason
    assert "mend 'travel' in its file" in shop.told(HoldBegan)[0].reason
    assert shop.prompts[3].text.startswith(ON_HOLD)
    assert shop.store.values_mm() == [0.02]


def test_a_machine_that_moved_while_the_indicator_was_read_makes_no_reading_that_counts():
    shop = Workshop(study_file(trials=1))
    moved: list[Prompt] = []

    def person(prompt: Prompt):
        if prompt.kind is PromptKind.READ and not moved:
            moved.append(prompt)
            shop.printer.at = type(shop.printer.at)(5.0, 30.0, 0.0)
        return obliging([0.07])(prompt)

    assert shop.carry_out(person).complete
    assert "the head is at" in shop.told(HoldBegan)[0].reason
    void = [one for one in shop.store.record().readings if one.void is not None]
    assert [one.kept.reading.value_mm for one in void] == [0.0, 0.07]  # its zero is lost with it
    assert void[1].void is not None
    assert void[1].void.startswith("typed, but its place and heat could not be proved: the head is")
    assert shop.store.values_mm() == [0.07]
    assert len(shop.acknowledged()) == 4


@pytest.mark.parametrize("trial", [0, 1])
@pytest.mark.parametrize("spoiled", ["M114", "M105"])
def test_what_was_typed_as_the_line_died_is_kept_void_and_asked_again(trial, spoiled):
    shop = Workshop(study_file(trials=2))
    died: list[Prompt] = []

    def die_at_proof(sent: str) -> None:
        last = shop.prompts[-1] if shop.prompts else None
        asked = last is not None and last.kind in (PromptKind.READ, PromptKind.ZERO)
        at_trial = asked and last.place is not None and last.place.trial == trial
        if at_trial and sent == spoiled and shop.desk.open_prompt is None and not died:
            died.append(last)
            shop.printer.fail("unplugged")

    shop.printer.before = die_at_proof
    readings = iter([0.05, 0.01, 0.02])

    def person(prompt: Prompt):
        if prompt.kind is PromptKind.ZERO:
            return said(prompt, Word.READING, 0.03)
        return (
            said(prompt, Word.READING, next(readings))
            if prompt.kind is PromptKind.READ
            else said(prompt)
        )

    assert shop.carry_out(person).complete
    (place,) = {prompt.place for prompt in died}
    (kept,) = [one for one in shop.store.record().readings if one.kept.place == place]
    assert kept.void == "typed, but its place and heat could not be proved: unplugged"
    typed = "0.03" if trial == 0 else "0.05"
    assert f"{typed} mm was typed; it is kept, but void" in shop.told(HoldBegan)[0].reason
    marked = [item for item in shop.told(TrialMarked) if item.reason == kept.void]
    assert [(item.mark, item.place) for item in marked] == [("void", place)]
    assert len(shop.store.values_mm()) == 2


def test_what_was_typed_and_can_be_kept_nowhere_is_at_least_told():
    shop = Workshop(study_file(trials=1))
    shop.store.is_full = lambda: (
        shop.printer.connections == 1 and not shop.printer.up and not shop.told(HoldBegan)
    )

    def person(prompt: Prompt):
        if prompt.kind is PromptKind.READ and shop.printer.connections == 1:
            shop.printer.before = lambda sent: shop.printer.fail("unplugged")
        else:
            shop.printer.before = lambda sent: None
        return obliging([0.07])(prompt)

    assert shop.carry_out(person).complete
    said_why = shop.told(HoldBegan)[0].reason
    assert "0.07 mm was typed and could not be kept: the disk is full" in said_why


def test_what_was_typed_as_the_program_was_stopped_is_kept_void():
    shop = Workshop(study_file(trials=1))

    def person(prompt: Prompt):
        if prompt.kind is PromptKind.READ:
            shop.printer.before = stop
        return obliging([0.07])(prompt)

    def stop(sent: str) -> None:
        shop.printer.before = lambda sent: None
        raise asyncio.CancelledError

    with pytest.raises(asyncio.CancelledError):
        shop.carry_out(person)
    kept = [(one.kept.reading.value_mm, one.void) for one in shop.store.record().readings]
    assert kept[-1] == (
        0.07,
        "typed, but its place and heat could not be proved: the program was stopped",
    )


def test_a_fault_in_a_hold_is_told_and_the_hold_goes_on():
    shop = Workshop(study_file(trials=1))
    shop.printer.before = failing_once(shop, "G28")
    faults = iter([True, False])

    def person(prompt: Prompt):
        if prompt.text.startswith(ON_HOLD) and next(faults):
            shop.printer.up = True  # it came back by itself, and went again
            shop.printer.fail("unplugged again")
            return None
        return obliging()(prompt)

    assert shop.carry_out(person).complete
    assert [("restarted" in i.reason, "unplugged" in i.reason) for i in shop.told(HoldBegan)] == [
        (True, False),
        (False, True),
    ]


def test_an_interrupted_probe_loop_goes_on_at_its_trial():
    """The probe's own zero is the datum: homing anew loses no zero that a hand had set."""
    shop = Workshop(probe_loop())
    shop.printer.touches_mm = [0.01, 0.02, 0.03, 0.04, 0.05, 0.06]
    seen: list[str] = []

    def fail(sent: str) -> None:
        if sent.startswith("G30"):
            seen.append(sent)
            if len(seen) == 3:
                shop.printer.fail("reset")

    shop.printer.before = fail
    assert shop.carry_out(obliging()).complete
    assert shop.store.marks == []
    assert [held.taken_anew for held in shop.told(HoldBegan)] == [0]
    assert sorted(shop.store.values_mm()) == [0.01, 0.02, 0.03, 0.04, 0.05, 0.06]


def test_a_nozzle_that_got_hot_holds_the_run():
    shop = Workshop(study_file(trials=1))

    def person(prompt: Prompt):
        hot = prompt.kind is PromptKind.ZERO and not shop.told(HoldBegan)
        shop.printer.nozzle_c = 90.0 if hot else 21.0
        return obliging()(prompt)

    assert shop.carry_out(person).complete
    assert "nozzle is at 90 °C" in shop.told(HoldBegan)[0].reason


def test_a_hold_that_lasts_switches_the_heaters_off_and_warms_again_after_it():
    shop = Workshop(rig_check(trials=1, warmth=Warmth(bed_c=50.0, soak_s=0.0)))
    late: list[Prompt] = []

    def person(prompt: Prompt):
        if prompt.text.startswith(ON_HOLD):
            late.append(prompt)
            return None
        return saying(Word.HOLD, at=1)(prompt) if len(shop.prompts) == 2 else obliging()(prompt)

    async def lift_after_two_minutes() -> None:
        while not late:
            await shop._sleep(1.0)
        await shop._sleep(120.0)
        shop.desk.answer(said(late[0]))

    async def both() -> RunFinished:
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(lift_after_two_minutes())
            return await shop.run(person)

    assert in_jumping_time(both()).complete
    heat = [c for c in shop.printer.commands if c.startswith("M140")]
    assert heat[0] == "M140 S0"  # as it is taken over
    assert heat[1:] == ["M140 S50", "M140 S0", "M140 S50", "M140 S0", "M140 S0"]
    assert "heaters off" in shop.store.kinds()


def test_after_a_reset_the_bed_is_warmed_again_before_anything_is_read():
    shop = Workshop(rig_check(trials=2, warmth=Warmth(bed_c=50.0, soak_s=0.0)))

    def reset_at_a_reading(sent: str) -> None:
        if sent == "G1 Z5 F60" and len(shop.store.readings) == 2 and not shop.told(HoldBegan):
            shop.printer.bed_c = shop.printer.bed_target_c = 21.0
            shop.printer.fail("the controller has restarted")

    shop.printer.before = reset_at_a_reading
    assert shop.carry_out(obliging()).complete
    assert {kept.reading.temperatures.bed_c for kept in shop.store.readings} == {50.0}


class Pulled(SmallPrinter):
    """Its cable stays out, once it came out; or is back when somebody looks again."""

    back = False

    async def connect(self, patience_s: float = 0.0) -> Greeting:
        if self.connections and not self.back:
            raise LinkError("small printer", "the port is not there", "Plug it in.")
        return await super().connect(patience_s)


def warm_run_ended_with_the_cable_out(back: bool) -> Workshop:
    shop = Workshop(
        rig_check(trials=1, warmth=Warmth(bed_c=50.0, soak_s=0.0)), printer=(printer := Pulled())
    )

    def person(prompt: Prompt):
        if prompt.text.startswith(ON_HOLD):
            printer.back = back
            return said(prompt, Word.END)
        if prompt.place is not None:
            printer.fail("unplugged")
            return None
        return obliging()(prompt)

    shop.carry_out(person)
    return shop


def test_with_a_warm_bed_a_cable_that_is_back_at_the_end_serves_to_switch_it_off():
    shop = warm_run_ended_with_the_cable_out(back=True)
    assert shop.printer.bed_target_c == 0.0
    assert shop.printer.moves[-1] == "G1 Z5 F60"  # down to the indicator; nothing since
    assert "not safe" not in shop.store.kinds()


def test_with_a_warm_bed_and_the_cable_out_people_are_told_to_switch_the_machine_off():
    shop = warm_run_ended_with_the_cable_out(back=False)
    assert shop.told(HoldBegan)[0].reason.endswith("if it must not, switch the machine off.")
    (finished,) = shop.told(RunFinished)
    assert finished.reason.endswith("the bed may still be heating, so switch the machine off")
    assert "not safe" in shop.store.kinds()


@pytest.mark.parametrize(
    ("warmth", "unplugged", "told"),
    [
        (Warmth(bed_c=50.0, soak_s=0.0), True, True),
        (Warmth(bed_c=50.0, soak_s=0.0), False, False),
        (None, True, False),
    ],
)
def test_a_hold_names_the_heat_only_where_a_bed_is_warm_and_out_of_reach(warmth, unplugged, told):
    shop = Workshop(rig_check(trials=1, warmth=warmth), printer=(printer := Pulled()))

    def person(prompt: Prompt):
        if prompt.text.startswith(ON_HOLD):
            return said(prompt, Word.END)
        if prompt.place is None:
            return obliging()(prompt)
        if unplugged:
            printer.fail("unplugged")
            return None
        return said(prompt, Word.HOLD)

    shop.carry_out(person)
    assert (BED_MAY_HEAT in shop.told(HoldBegan)[0].reason) == told


@pytest.mark.parametrize(("stopped", "left_c"), [(False, 0.0), (True, 50.0)])
def test_a_warm_bed_behind_a_lost_line_is_switched_off_in_the_hold_as_soon_as_it_is_back(
    stopped, left_c
):
    """But a board that was told to halt is left as it is until somebody has looked."""
    warm = rig_check(trials=1, warmth=Warmth(bed_c=50.0, soak_s=0.0))
    shop = Workshop(warm, printer=(printer := Pulled()))
    seen: list[float] = []

    def person(prompt: Prompt):
        if prompt.text.startswith((ON_HOLD, "STOPPED")):
            return None
        if prompt.place is not None:
            assert shop.machine is not None
            shop.machine.halt("phone") if stopped else printer.fail("unplugged")
            return None
        return obliging()(prompt)

    async def look_on() -> None:
        while not shop.told(HoldBegan):
            await shop._sleep(1.0)
        await shop._sleep(90.0)
        seen.append(printer.bed_target_c)
        printer.back = True
        await shop._sleep(60.0)
        seen.append(printer.bed_target_c)
        shop.hold_now(Word.END)

    async def both() -> None:
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(look_on())
            await shop.run(person)

    in_jumping_time(both())
    assert seen == [50.0, left_c]


def test_a_full_disk_holds_and_the_trial_in_hand_is_asked_again():
    shop = Workshop(study_file())
    full_at = iter([False] * 6 + [True] * 3)
    shop.store.is_full = lambda: next(full_at, False)
    assert shop.carry_out(obliging([0.01, 0.02, 0.03, 0.04, 0.05])).complete
    assert any("the disk is full" in item.reason for item in shop.told(HoldBegan))
    assert shop.acknowledged() == [kept.reading.value_mm for kept in shop.store.readings]
    assert "hold" in shop.store.kinds()  # written down when there was room again


def test_a_reading_that_could_not_be_kept_is_void_and_the_next_attempt_counts():
    """It may be on the disk for all that: it was told as not kept, and is not counted twice."""
    shop = Workshop(study_file(trials=2))
    store, refuse = shop.store, iter([True])
    keep = store.add_reading

    async def keep_but_say_otherwise(new: NewReading) -> StoredReading:
        stored = await keep(new)
        if new.place.trial == 1 and next(refuse, False):
            raise StoreError("db", "it was moved or removed", "Put it back.")
        return stored

    store.add_reading = keep_but_say_otherwise
    assert shop.carry_out(obliging([0.03, 0.05, 0.07])).complete
    assert shop.store.values_mm() == [0.05, 0.07]
    (mark,) = [mark for mark in shop.store.marks if mark.trial == 1]
    assert (mark.mark, mark.attempt) == ("void", 1)
    assert mark.reason == "0.03 mm could not be kept: it was moved or removed"


def test_refused_answers_are_in_the_record():
    shop = Workshop(study_file(trials=1))

    def person(prompt: Prompt):
        if len(shop.prompts) == 2:
            shop.desk.answer(said(shop.prompts[0]))
        return obliging()(prompt)

    shop.carry_out(person)
    (refused,) = [event for event in shop.store.events if event.kind == "refused"]
    assert "it belongs to another prompt" in refused.text


# ------------------------------------------------------------------ going on


def test_a_run_that_ended_goes_on_by_the_same_schedule_where_it_stopped():
    study = study_file(points=["front-left", "back-left", "front-right"])
    shop = Workshop(study)
    shop.carry_out(saying(Word.END, at=7 + 3 + 3 + 5 + 3))  # in the second block
    whole = Workshop(study)
    whole.carry_out(obliging())

    later = Workshop(study, store=shop.store)
    finished = later.carry_out(obliging(), resume=True)
    assert finished.complete
    assert later.news[0].resumed
    order = [(one.kept.place.block, one.kept.place.point) for one in shop.store.counting]
    assert order == [(one.kept.place.block, one.kept.place.point) for one in whole.store.counting]
    assert [mark.reason for mark in shop.store.marks] == ["zero lost"]
    first_block = [one for one in shop.store.readings if one.place.block == 1]
    assert {one.place.round for one in first_block} == {1}  # what was complete stays


def test_a_run_that_stopped_twice_still_ends_with_every_trial_once():
    study = study_file(points=["front-left", "back-left"])
    shop = Workshop(study)
    shop.carry_out(saying(Word.END, at=10))
    shop.desk, shop.prompts = type(shop.desk)(), []
    shop.carry_out(saying(Word.SKIP, at=6), resume=True)
    places = [(one.kept.place.block, one.kept.place.trial) for one in shop.store.counting]
    assert places == [(1, 2), (1, 3), (2, 1), (2, 2), (2, 3)]


def test_a_program_that_is_stopped_leaves_the_machine_safe_and_the_run_resumable():
    shop = Workshop(study_file())

    class PulledPlug(BaseException):
        pass

    def person(prompt: Prompt):
        if prompt.kind is PromptKind.READ:
            raise PulledPlug
        return obliging()(prompt)

    with pytest.raises(BaseExceptionGroup) as stopped:
        shop.carry_out(person)
    assert stopped.group_contains(PulledPlug)
    assert shop.printer.commands[-2:] == ["M104 S0", "M140 S0"]
    last = shop.store.events[-1]
    assert (last.kind, json.loads(last.data)) == ("ended", {"complete": False})


# ------------------------------------------------------------------ STOP


def stopping(shop: Workshop, readings: int):
    """Obliging, but gives STOP at the prompt after so many readings."""
    given: list[Prompt] = []

    def person(prompt: Prompt):
        if len(shop.acknowledged()) == readings and not given:
            given.append(prompt)
            assert shop.machine is not None
            shop.machine.halt("phone")
            return None
        return obliging()(prompt)

    return person


def test_a_stop_is_told_as_stopped_with_what_to_do_and_how_many_readings_it_costs():
    shop = Workshop(study_file(trials=4))
    assert shop.carry_out(stopping(shop, 3)).complete  # the zero and two readings
    (held,) = shop.told(HoldBegan)
    assert (held.stopped, held.not_told, held.taken_anew) == (True, False, 2)
    assert held.reason.startswith("STOP was given on phone: the machine was told to halt at once")
    assert "Connecting to the machine." in [news.what for news in shop.told(Moving)]
    asked = next(prompt for prompt in shop.prompts if prompt.text.startswith("STOPPED"))
    assert "confirm (DONE): it connects and homes. Or end the run" in asked.text
    costs = "2 readings of this block, and its zero, are taken again: homing shifts the zero."
    assert costs in asked.detail
    assert [event.kind for event in shop.store.events].count("stopped") == 1
    assert len(shop.store.values_mm()) == 4


def test_a_stop_that_is_given_twice_was_told_all_the_same():
    shop = Workshop(study_file(trials=2))
    once = stopping(shop, 1)

    def person(prompt: Prompt):
        answer = once(prompt)
        if answer is None:
            assert shop.machine is not None
            shop.machine.halt("page")
        return answer

    assert shop.carry_out(person).complete
    assert [held.not_told for held in shop.told(HoldBegan)] == [False]


def test_a_hold_that_keeps_the_position_costs_no_reading():
    shop = Workshop(study_file())
    shop.carry_out(saying(Word.HOLD, at=8))
    (held,) = shop.told(HoldBegan)
    assert (held.stopped, held.taken_anew) == (False, 0)
    asked = next(prompt for prompt in shop.prompts if prompt.text.startswith(ON_HOLD))
    assert "taken again" not in asked.detail
    assert "confirm (DONE): the run goes on" in asked.text


def test_once_the_machine_is_connected_again_a_hold_is_no_stop():
    shop = Workshop(study_file(trials=4))
    held_at: list[Prompt] = []
    stop = stopping(shop, 1)

    def person(prompt: Prompt):
        if len(shop.acknowledged()) == 3 and not held_at:
            held_at.append(prompt)
            return said(prompt, Word.HOLD)
        return stop(prompt)

    assert shop.carry_out(person).complete
    assert [held.stopped for held in shop.told(HoldBegan)] == [True, False]


def test_a_stop_that_could_not_be_sent_says_so_and_names_the_mains_switch():
    shop = Workshop(study_file(trials=1))
    held: list[Prompt] = []

    def person(prompt: Prompt):
        assert shop.machine is not None
        if prompt.text.startswith(ON_HOLD) and not held:
            held.append(prompt)
            shop.machine.halt("phone")
            return None
        if prompt.kind is PromptKind.SET and not held:
            shop.printer.fail("unplugged")
            return None
        return obliging()(prompt)

    assert shop.carry_out(person).complete
    before, after = shop.told(HoldBegan)
    assert (before.stopped, after.stopped) == (False, True)
    assert (before.not_told, after.not_told) == (False, True)
    assert any(
        prompt.text.startswith("STOP did not reach the machine: switch it off at the mains.")
        for prompt in shop.prompts
    )
    assert "the machine was not told. Switch it off at the mains." in after.reason
