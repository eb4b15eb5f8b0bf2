"""Loops that are interrupted: noticed, said, safe, gone on with by a word, nothing lost."""

import json

import pytest
from loop_bench import OUT_AND_IN, Somebody, arm_file, looping, saying
from test_simulated_printer import Bench

from hostctl.config.machine import Machine
from hostctl.deeds import LiftHold
from hostctl.news import Answer, Prompt, ReadingKept, Word
from hostctl.store.stretches import stretches

TRIALS = 6


def bench_of(file: Machine | None = None, **loop: object) -> Bench:
    return Bench(looping(OUT_AND_IN | loop, trials=TRIALS), file or arm_file())


def command_of_touch(number: int) -> int:
    """The number of the order that makes this touch."""
    bench = bench_of()
    assert bench.carry_out().complete
    texts = [each.text for each in bench.printer.board.obeyed]
    touches = [at for at, text in enumerate(texts, start=1) if text.startswith("G30")]
    return touches[number - 1]


def is_whole(bench: Bench) -> bool:
    """Every touch is kept once, nothing crashed, and every heater is off."""
    trials = [one.kept.place.trial for one in bench.store.counting]
    world = bench.printer.world
    cold = world.bed_heater.target_c == world.nozzle_heater.target_c == 0
    return trials == list(range(1, TRIALS + 1)) and world.crashes == [] and cold


@pytest.mark.parametrize("fault", ["power_cut_at_command", "reset_at_command", "unplug_at_command"])
def test_a_power_cut_in_mid_touch_holds_and_homing_lies_between_what_was_touched(fault: str):
    bench = bench_of(arm_file(**{fault: command_of_touch(4)}))
    assert bench.carry_out().complete
    assert len(bench.holds) == 1
    assert is_whole(bench)
    homings = [lies.homings for lies in stretches(bench.store.record())]
    assert homings == [1] * 3 + [2] * 3


def test_a_program_that_was_stopped_goes_on_by_a_word_at_the_machine():
    bench = bench_of()
    bench.people = Somebody(lambda prompt: saying(prompt), after=3, unasked=Word.END)
    assert not bench.carry_out().complete
    kept = len(bench.store.counting)
    assert 3 <= kept < TRIALS
    bench.people = Somebody(lambda prompt: saying(prompt))
    bench.prompts = []
    assert bench.carry_out(resume=bench.store.record()).complete
    assert len(bench.prompts) == 1
    assert "The last reading kept is" in bench.prompts[0].detail
    assert is_whole(bench)
    lies = stretches(bench.store.record())
    assert [each.homings for each in lies] == [1] * kept + [2] * (TRIALS - kept)
    assert lies[kept].breaks > lies[kept - 1].breaks


def test_a_clock_that_goes_back_while_it_is_off_changes_nothing_of_what_lies_between():
    """As at a small computer that keeps no time while its mains are off."""
    bench = bench_of()
    bench.people = Somebody(lambda prompt: saying(prompt), after=3, unasked=Word.END)
    bench.carry_out()
    bench.people, bench.tick = Somebody(lambda prompt: saying(prompt)), -bench.tick
    assert bench.carry_out(resume=bench.store.record()).complete
    kept = [lies.homings for lies in stretches(bench.store.record())].count(1)
    assert 3 <= kept < TRIALS
    assert is_whole(bench)


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ({"probe_stays_in_at_order": 5}, "output 'probe-out' (M280 P0 S10) is not proven"),
        ({"probe_stuck_at_touch": 3}, "the probe is triggered though it touches nothing"),
        ({"probe_blind_at_touch": 3}, "3 touches at x 40, y 40 mm gave no height"),
        ({"door_opened_at_command": 90}, "the door is open"),
    ],
    ids=["stays in", "stuck", "blind", "door"],
)
def test_what_goes_wrong_at_the_probe_is_said_with_the_head_up_and_gone_on_with(fault, said: str):
    bench = bench_of(arm_file(**fault))
    heights: list[float] = []
    bench.on_prompt = lambda prompt: heights.append(bench.printer.world.head.z_mm)
    assert bench.carry_out().complete
    assert len(bench.holds) == 1
    assert said in bench.holds[0]
    assert min(heights) >= 5.0
    assert is_whole(bench)


def test_a_thermal_fault_is_asked_about_alone_and_a_cold_loop_goes_on():
    bench = bench_of(arm_file(thermal_at_command=command_of_touch(4)))
    assert bench.carry_out().complete
    deeds = [prompt.deed.do for prompt in bench.prompts]
    assert deeds[:3] == ["clear-bed", "look-at-thermal-fault", "lift-hold"]
    assert is_whole(bench)


@pytest.mark.parametrize("part", ["bed", "nozzle"])
def test_a_heater_that_somebody_switches_on_is_off_before_the_next_touch(part: str):
    """As at the machine's own screen, with nobody at the run."""
    bench = bench_of()
    times = iter([1])

    def switch_on(_: object) -> None:
        if len(bench.store.readings) == 2 and next(times, None):
            getattr(bench.printer.world, f"{part}_heater").target_c = 60.0

    bench.on_news = switch_on
    assert bench.carry_out().complete
    assert len(bench.holds) == 1
    assert f"somebody else heated the {part} to 60 °C before a touch" in bench.holds[0]
    assert is_whole(bench)


def test_looks_begin_anew_after_a_stop_and_none_is_kept_twice():
    bench = Bench(looping({"known_to": 0.4}, trials=120), arm_file())
    bench.people = Somebody(lambda prompt: saying(prompt), after=30, unasked=Word.END)
    assert not bench.carry_out().complete
    before = looks_of(bench)
    assert before
    bench.people = Somebody(lambda prompt: saying(prompt))
    assert bench.carry_out(resume=bench.store.record()).complete
    after = looks_of(bench)[len(before) :]
    assert after[0]["look"] == 1
    assert after[0]["n"] < after[0]["touches"]
    assert len({each["touches"] for each in looks_of(bench)}) == len(looks_of(bench))


def test_a_run_that_was_held_for_a_touch_and_ended_goes_on_when_somebody_says_so():
    bench = Bench(looping({"control_limit": True}, trials=70), arm_file())

    def turn_screws(item: object) -> None:
        if isinstance(item, ReadingKept) and item.place.trial == 60:
            for screw in bench.printer.world.screw_names():
                bench.printer.world.turn_screw(screw, 180.0, "clockwise")

    def end_at_hold(prompt: Prompt) -> Answer:
        return saying(prompt, Word.END if isinstance(prompt.deed, LiftHold) else Word.DONE)

    bench.on_news, bench.people = turn_screws, Somebody(end_at_hold)
    assert not bench.carry_out().complete
    assert len(bench.holds) == 1
    assert "beyond the limits" in bench.holds[0]
    kept = len(bench.store.counting)
    assert kept in range(61, 64)
    bench.people = Somebody(lambda prompt: saying(prompt))
    assert bench.carry_out(resume=bench.store.record()).complete
    assert len(bench.holds) == 1
    assert len(bench.store.counting) == 70


def looks_of(bench: Bench) -> list[dict[str, object]]:
    kept = [json.loads(event.data) for event in bench.store.events if event.kind == "looked"]
    return [each["loop"] for each in kept]
