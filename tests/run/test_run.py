"""A run from the first question to its end, in memory and in jumping time."""

import gc
import itertools
import re

import pytest
from bench_files import machine_file
from workshop import EPOCH, Workshop, obliging, probe_loop, rig_check, said, study_file

from hostctl.config.machine import BedScrew, Turn
from hostctl.config.study import Cycle, Gauge, Warmth
from hostctl.errors import MachineError, StoreError
from hostctl.news import (
    CountdownTicked,
    HoldBegan,
    Moving,
    Prompt,
    PromptKind,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
    Word,
)
from hostctl.run.record.progress import Progress
from hostctl.store.rows import ANSWERED

PARKED = "G1 X0 Y200 F3000"


def test_a_comparison_asks_turn_set_and_read_in_each_trial_and_zeroes_once():
    shop = Workshop(study_file())
    finished = shop.carry_out(obliging([0.02, -0.01, 0.03]))
    one_trial = ["confirm", "set", "read"]
    assert shop.asked() == ["(confirm)", "confirm", "set", "zero", *(3 * one_trial)]
    assert shop.store.values_mm() == [0.02, -0.01, 0.03]
    assert finished == RunFinished(run=1, complete=True, reason="all trials are done")
    assert shop.printer.offences == []


def test_the_motions_of_one_trial_are_up_across_down_up_across_down():
    shop = Workshop(study_file(trials=1))
    shop.carry_out(obliging())
    told = [command for command in shop.printer.commands if command.startswith("G1")]
    first, second = told.index("G1 X30 Y30 F3000"), told.index("G1 X5 Y30 F3000")
    assert told[first + 1 : second] == [
        "G1 Z2 F300",
        "G1 Z1 F60",
        "G1 Z0 F60",
        "G1 Z10 F300",
    ]
    assert told[second + 1 : second + 4] == [
        "G1 Z7 F300",
        "G1 Z6 F60",
        "G1 Z5 F60",
    ]  # the plunger is 25 mm to the right of the nozzle


def test_nothing_moves_before_somebody_at_the_machine_says_so():
    shop = Workshop(study_file(), machine_file(port="/dev/ttyUSB0"))
    moves_when_first_asked: list[list[str]] = []

    def look(item: object) -> None:
        if isinstance(item, PromptOpened) and not moves_when_first_asked:
            moves_when_first_asked.append(list(shop.printer.moves))

    shop.on_news = look
    shop.carry_out(obliging())
    assert moves_when_first_asked == [[]]
    start = shop.prompts[0]
    assert "mains switch: it is the emergency stop" in start.detail
    assert "hands" in start.text
    assert start.moves_next


def test_each_motion_after_an_answer_is_counted_down():
    shop = Workshop(study_file(trials=1))
    shop.carry_out(obliging())
    ticks = shop.told(CountdownTicked, Moving)
    seconds = [item.seconds_left for item in ticks if isinstance(item, CountdownTicked)]
    assert seconds[:3] == [3, 2, 1]
    assert len(seconds) == 3 * (1 + 2 * 3 + 1)  # home; two trials of three; park


def test_a_reading_is_acknowledged_only_when_it_is_on_disk():
    shop = Workshop(study_file())
    kept_when_told: list[int] = []

    def look(item: object) -> None:
        if isinstance(item, ReadingKept):
            kept_when_told.append(item.reading_id <= len(shop.store.readings))

    shop.on_news = look
    shop.carry_out(obliging())
    assert kept_when_told == [True] * 4


def test_a_reading_carries_its_context():
    shop = Workshop(study_file(trials=1))
    shop.carry_out(obliging([0.02]))
    kept = shop.store.counting[0].kept
    assert (kept.reading.source, kept.reading.resolution_mm) == ("typed", 0.01)
    assert (kept.reading.at.x_mm, kept.reading.at.y_mm, kept.reading.at.z_mm) == (5.0, 30.0, 5.0)
    assert kept.reading.temperatures.nozzle_c == 21.0
    assert kept.channel == "terminal"
    assert kept.prompted_at is not None
    assert EPOCH < kept.prompted_at < kept.answered_at
    assert (kept.place.method, kept.place.operator) == ("paper-slip", "volunteer-a")
    assert (kept.place.trials_done, kept.place.trials_total) == (0, 1)


@pytest.mark.parametrize("graduations", [True, False])
def test_graduations_are_asked_for_only_by_a_study_that_says_so_and_where_a_number_is(graduations):
    shop = Workshop(study_file(trials=1, gauge=Gauge(typed_in_graduations=graduations)))
    shop.carry_out(obliging())
    asked = {(prompt.kind, prompt.typed_in_graduations) for prompt in shop.prompts}
    assert asked == {
        (PromptKind.CONFIRM, False),
        (PromptKind.SET, False),
        (PromptKind.ZERO, graduations),
        (PromptKind.READ, graduations),
    }


def test_the_turn_is_told_in_degrees_and_parts_of_a_turn_away_from_the_nozzle():
    shop = Workshop(study_file())
    shop.carry_out(obliging())
    turns = [prompt.text for prompt in shop.prompts if prompt.text.startswith("Turn the front")]
    assert len(turns) == 4
    assert len(set(turns)) > 1
    assert re.match(r"Turn the front-left screw \d+°, ", turns[0])
    assert all(turn.endswith(", anticlockwise, seen from above.") for turn in turns)


def test_where_anticlockwise_raises_the_bed_the_turn_away_is_clockwise():
    screw = BedScrew(name="front-left", x_mm=30, y_mm=30, raises_bed=Turn.ANTICLOCKWISE)
    shop = Workshop(study_file(trials=1), file=machine_file(screws=[screw]))
    shop.carry_out(obliging())
    assert shop.prompts[1].text.endswith(", clockwise, seen from above.")


def test_without_known_screws_the_turn_is_told_by_what_it_does():
    shop = Workshop(study_file(trials=1), file=machine_file(screws=[]))
    shop.carry_out(obliging())
    assert re.match(r"Turn the screw at front-left \d+°, ", shop.prompts[1].text)
    assert shop.prompts[1].text.endswith(", so that the bed goes down.")


def test_a_study_that_turns_nothing_away_asks_for_no_turn():
    shop = Workshop(study_file(trials=1, cycle=Cycle(turn_away=None)))
    shop.carry_out(obliging())
    assert shop.asked() == ["(confirm)", "set", "zero", "set", "read"]


def test_a_rig_check_only_reads_and_goes_away_and_back_between():
    shop = Workshop(rig_check())
    shop.carry_out(obliging([0.0, 0.01, 0.0]))
    assert shop.asked() == ["(confirm)", "zero", "read", "read", "read"]
    told = [command for command in shop.printer.commands if command.startswith("G1 X")]
    assert told == [*(4 * ["G1 X30 Y30 F3000", "G1 X5 Y30 F3000"]), PARKED]
    assert shop.printer.offences == []


def test_dry_cycles_move_but_are_not_counted():
    shop = Workshop(rig_check(trials=1), file=machine_file(dry_cycles=2))
    shop.carry_out(obliging())
    told = [command for command in shop.printer.commands if command.startswith("G1 X5")]
    assert len(told) == 2 + 2  # two to warm up, the zero, the trial
    assert len(shop.store.readings) == 2
    assert Moving(what="Dry cycle 2 of 2: nothing is read.") in shop.news


def test_a_probe_loop_asks_nobody_after_the_first_answer_and_parks():
    shop = Workshop(probe_loop())
    shop.printer.touches_mm = [0.01, 0.02, 0.03, 0.11, 0.12, 0.13]
    finished = shop.carry_out(obliging())
    assert shop.asked() == ["(confirm)"]
    assert sorted(shop.store.values_mm()) == [0.01, 0.02, 0.03, 0.11, 0.12, 0.13]
    assert finished.complete
    assert PARKED in shop.printer.moves
    assert shop.printer.offences == []
    assert {one.kept.reading.source for one in shop.store.counting} == {"probe"}
    assert shop.printer.commands[-2:] == ["M104 S0", "M140 S0"]


def test_with_previous_the_dial_is_zeroed_after_each_reading():
    shop = Workshop(study_file(reference="previous"))
    shop.carry_out(obliging())
    one_trial = ["confirm", "set", "read"]
    assert shop.asked() == [
        "(confirm)",
        *["confirm", "set", "zero"],
        *one_trial,
        "zero",
        *one_trial,
        "zero",
        *one_trial,
    ]
    assert [kept.is_zero for kept in shop.store.readings] == [True, False, False, False]


def test_with_previous_the_dial_itself_must_be_at_zero():
    shop = Workshop(study_file(reference="previous", trials=1))
    zeros = iter([0.03, 0.0])

    def person(prompt):
        if prompt.kind is PromptKind.ZERO:
            return said(prompt, Word.READING, next(zeros))
        return obliging()(prompt)

    shop.carry_out(person)
    assert "turn it to zero" in shop.prompts[4].text
    assert shop.store.readings[0].reading.value_mm == 0.0


def test_with_datum_a_gauge_block_is_laid_zeroed_on_and_taken_away_once_a_block():
    shop = Workshop(study_file(reference="datum", trials=2, gauge=Gauge(block_mm=4.0)))
    shop.carry_out(obliging())
    assert shop.asked() == [
        "(confirm)",
        *["confirm", "zero", "confirm"],
        *["confirm", "set", "read"],
        *["confirm", "set", "read"],
    ]
    assert (
        shop.prompts[1].text
        == "Lay the 4 mm gauge block on the bed under the plunger at front-left."
    )
    assert shop.store.readings[0].reading.at.z_mm == 9.0  # reading height 5 mm, on the block
    assert shop.printer.offences == []


def test_in_mixed_order_the_dial_is_turned_once_and_each_block_keeps_its_own_zero():
    shop = Workshop(study_file(points=["front-left", "back-left"], trials=4, order="mixed"))
    shop.carry_out(obliging(itertools.count(0, 0.01)))
    assert shop.asked().count("zero") == 1
    zeros = [kept for kept in shop.store.readings if kept.is_zero]
    assert {kept.place.block for kept in zeros} == {1, 2}
    assert len(shop.store.counting) == 8


def test_the_bed_is_warmed_only_when_the_study_asks_and_is_off_at_the_end():
    shop = Workshop(rig_check(trials=1, warmth=Warmth(bed_c=50.0, soak_s=4.0)))
    shop.carry_out(obliging())
    assert "M140 S50" in shop.printer.commands
    assert shop.store.counting[0].kept.reading.temperatures.bed_c == 50.0
    assert shop.printer.commands[-2:] == ["M104 S0", "M140 S0"]


def test_while_the_bed_warms_its_heat_is_told_and_a_hold_is_heard_at_once():
    """The whole wait is 300 pauses of 2 s."""
    shop = Workshop(rig_check(trials=1, warmth=Warmth(bed_c=50.0, soak_s=600.0)))

    def pauses() -> int:
        return sum(command.startswith("G4") for command in shop.printer.commands)

    def hold_when_warm(item: object) -> None:
        if item == Moving(what="The bed warms up: 50 °C.") and not shop.told(HoldBegan):
            shop.hold_now()

    def person(prompt: Prompt):
        held = prompt.text.startswith("The run is on hold.")
        return said(prompt, Word.END) if held else obliging()(prompt)

    shop.on_news = hold_when_warm
    assert not shop.carry_out(person).complete
    told = [item.what for item in shop.told(Moving) if "warms up" in item.what]
    assert told[:3] == [f"The bed warms up: {bed_c} °C." for bed_c in (21, 31, 41)]
    assert pauses() < 10
    assert len(shop.told(HoldBegan)) == 1
    assert shop.printer.bed_target_c == 0.0


def test_heaters_are_off_from_the_start_when_no_study_asks_for_heat():
    shop = Workshop(rig_check(trials=1))
    shop.carry_out(obliging())
    first_move = shop.printer.commands.index("G90")
    assert "M140 S0" in shop.printer.commands[:first_move]


def test_with_a_hot_nozzle_no_run_begins():
    shop = Workshop(study_file())
    shop.printer.nozzle_c = 80.0
    with pytest.raises(BaseExceptionGroup) as refused:
        shop.carry_out(obliging())
    assert refused.group_contains(MachineError, match="nozzle is at 80 °C")
    assert shop.store.run is None
    assert shop.printer.moves == []


def test_with_a_full_disk_no_run_begins():
    shop = Workshop(study_file())
    shop.store.is_full = lambda: True
    with pytest.raises(BaseExceptionGroup) as refused:
        shop.carry_out(obliging())
    assert refused.group_contains(StoreError)
    assert shop.printer.moves == []


def test_the_run_is_announced_and_recorded_with_its_texts():
    shop = Workshop(study_file())
    shop.carry_out(obliging())
    assert shop.news[0] == RunStarted(
        run=1, study="small", machine="bench", trials_total=3, resumed=False, simulated=True
    )
    told = [(event.kind, event.text) for event in shop.store.events if event.kind != ANSWERED]
    assert told == [("started", ""), ("homed", ""), ("ended", "all trials are done")]
    assert shop.store.run is not None
    assert (shop.store.run.study_text, shop.store.run.seed) == ("the study", 7)
    last = shop.store.events[-1]
    assert (last.kind, last.data) == ("ended", '{"complete": true}')


def test_the_machines_own_screen_shows_what_is_asked_and_it_beeps():
    shop = Workshop(study_file(trials=1))
    shop.carry_out(obliging())
    assert "M117 Set the gap" in shop.printer.commands
    assert shop.printer.commands.count("M300") == len(shop.prompts)


def test_a_run_that_has_ended_is_gone_without_waiting_for_the_garbage_collector(
    monkeypatch: pytest.MonkeyPatch,
):
    """In a daemon its readings would pile up, run after run, until all is gone through for them."""
    gc.collect()  # of what other tests left
    gc.disable()
    try:
        gone: list[int] = []
        monkeypatch.setattr(Progress, "__del__", lambda _: gone.append(1), raising=False)
        assert Workshop(study_file()).carry_out(obliging()).complete
        assert gone == [1]
    finally:
        gc.enable()
