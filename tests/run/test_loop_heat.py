"""Loops that warm and cool the bed: somebody stays, or the heaters go off.

The simulated printer goes at a printer's pace, in time that jumps, so that its seconds are those of
the run.
"""

from collections.abc import Callable

import pytest
from loop_bench import Somebody, arm_file, looping, saying
from test_simulated_printer import Bench

from hostctl.deeds import ClearBed, SayHeatAgain, SayPresent
from hostctl.errors import MachineError
from hostctl.news import Answer, Prompt, Word

pytestmark = pytest.mark.slow

HEAT = {"bed_c": 45, "warm_touches": 3, "cool_touches": 2, "soak_s": 1900, "cycles": 1}


def heated(heat: dict[str, object] | None = None, trials: int = 5, **faults: object) -> Bench:
    study = looping({"heat": HEAT | (heat or {})}, trials=trials)
    return Bench(study, arm_file(speed="real", **faults))


def targets_at(bench: Bench) -> Callable[[Prompt], None]:
    """Notes what the bed aims at as each question is asked."""
    bench.targets = []
    return lambda prompt: bench.targets.append(
        (type(prompt.deed).__name__, bench.printer.world.bed_heater.target_c)
    )


def always(prompt: Prompt) -> Answer:
    choice = "heat" if isinstance(prompt.deed, SayHeatAgain) else None
    return saying(prompt, Word.CHOSEN if choice else Word.DONE, choice)


def test_somebody_is_asked_each_quarter_of_an_hour_while_it_is_heated_and_not_while_it_cools():
    bench = heated()
    bench.people = Somebody(always)
    assert bench.carry_out().complete
    asked = [type(prompt.deed) for prompt in bench.prompts]
    assert asked[0] is ClearBed
    assert asked[1:] == [SayPresent] * len(asked[1:])
    assert len(asked) - 1 in (2, 3)
    bed_c = [one.kept.reading.temperatures.bed_c for one in bench.store.counting]
    assert all(abs(warm_c - 45) < 2 for warm_c in bed_c[:3])
    assert all(cool_c < 35 for cool_c in bed_c[3:])
    assert bench.holds == []


def test_it_says_at_its_start_that_a_crash_leaves_it_heating_and_that_somebody_must_stay():
    bench = heated()
    bench.people = Somebody(lambda prompt: saying(prompt, Word.END))
    bench.carry_out()
    said = bench.prompts[0].detail
    assert "THE BED IS HEATED to 45 °C" in said
    assert "the board goes on heating: switch the machine off at the mains" in said
    assert "Somebody must stay" in said
    assert "smoke detector" in said
    assert "bed at up to 45 °C: don't touch it" in said


def test_where_nobody_is_asked_it_says_what_that_takes_and_that_the_bed_stays_cold():
    bench = Bench(looping(), arm_file())
    bench.people = Somebody(lambda prompt: saying(prompt, Word.END))
    bench.carry_out()
    said = bench.prompts[0].detail
    assert "Leave it alone only if your local rules and the maker's manual allow it" in said
    assert "smoke detector" in said
    assert "nothing that burns near" in said
    assert "The heaters are off" in said
    assert "bed cold" in said
    assert "The machine is simulated: nothing real moves." in said


def test_where_nobody_answers_the_heaters_go_off_and_it_holds_and_asks_anew_before_heating():
    silent: list[Prompt] = []

    def first_silent(prompt: Prompt) -> Answer | None:
        if isinstance(prompt.deed, SayPresent) and not silent:
            silent.append(prompt)
            return None
        return always(prompt)

    bench = heated()
    bench.people = Somebody(first_silent)
    bench.on_prompt = targets_at(bench)
    assert bench.carry_out().complete
    assert len(bench.holds) == 1
    assert "nobody said within 60 s that they are there; all heaters are off" in bench.holds[0]
    names = [name for name, _ in bench.targets]
    at = names.index("LiftHold")
    assert bench.targets[at : at + 2] == [("LiftHold", 0.0), ("SayHeatAgain", 0.0)]
    assert len(bench.store.counting) == 5


def test_left_cold_after_a_hold_it_ends_and_what_was_read_is_kept():
    def cold(prompt: Prompt) -> Answer:
        if isinstance(prompt.deed, SayHeatAgain):
            return saying(prompt, Word.CHOSEN, "cold")
        return always(prompt)

    bench = heated({"cycles": 2, "soak_s": 0}, trials=10)
    bench.people = Somebody(cold, after=2)
    finished = bench.carry_out()
    assert "the bed stays cold" in finished.reason
    assert bench.holds == ["Hold was said on phone."]
    assert len(bench.store.counting) == 2
    assert bench.store.kinds().count("looked") == 1
    assert bench.printer.world.bed_heater.target_c == 0


def test_left_cold_while_it_cools_it_touches_on_until_it_would_be_heated():
    def cold(prompt: Prompt) -> Answer:
        if isinstance(prompt.deed, SayHeatAgain):
            return saying(prompt, Word.CHOSEN, "cold")
        return always(prompt)

    bench = heated({"cycles": 2, "soak_s": 0}, trials=10)
    bench.people = Somebody(cold, after=4)
    assert bench.carry_out().complete
    assert len(bench.store.counting) == 5


def test_gone_on_with_after_a_stop_it_asks_before_it_heats():
    bench = heated({"soak_s": 0})
    bench.people = Somebody(always, after=2, unasked=Word.END)
    assert not bench.carry_out().complete
    assert bench.printer.world.bed_heater.target_c == 0
    bench.people, bench.prompts = Somebody(always), []
    bench.on_prompt = targets_at(bench)
    assert bench.carry_out(resume=bench.store.record()).complete
    assert bench.targets[:2] == [("ClearBed", 0.0), ("SayHeatAgain", 0.0)]
    assert len(bench.store.counting) == 5


def test_a_run_that_had_a_thermal_fault_is_not_gone_on_with():
    bench = heated({"soak_s": 0}, thermal_at_command=60)
    bench.people = Somebody(always)
    finished = bench.carry_out()
    assert not finished.complete
    assert "a thermal fault: this study heats the bed" in finished.reason
    with pytest.raises(ExceptionGroup) as refused:
        bench.carry_out(resume=bench.store.record())
    (why,) = refused.value.exceptions
    assert isinstance(why, MachineError)
    assert "it is not gone on with" in str(why)
