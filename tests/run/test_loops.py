"""Probe loops, carried out on the simulated printer: what comes before each touch, and when it
stops."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest
from bench_files import machine_file
from loop_bench import OUT_AND_IN, arm_file, looping, orders
from small_printer import SmallPrinter
from test_simulated_printer import Bench
from workshop import EPOCH, Workshop, obliging

from hostctl.news import DecisionKept
from hostctl.store.stretches import stretches


def bench_of(loop: dict[str, object] | None = None, **changes: object) -> Bench:
    return Bench(looping(loop, **changes), arm_file())


def test_the_probe_goes_in_and_comes_out_before_each_touch_and_is_in_at_the_end():
    bench = bench_of(OUT_AND_IN, trials=3)
    assert bench.carry_out().complete
    told = [each for each in orders(bench) if each in {"in", "out", "touch"}]
    assert told == ["in", "out", "touch"] * 3 + ["in"]
    assert bench.printer.world.crashes == []


def test_the_head_never_goes_sideways_with_the_probe_out():
    bench = bench_of(OUT_AND_IN | {"sides": True}, trials=2, points=["front-left", "back"])
    assert bench.carry_out().complete
    told = orders(bench)
    is_out = False
    for each in told[told.index("in") :]:  # as delivered it is out
        assert not (is_out and each.startswith("X"))
        is_out = each == "out" or (is_out and each != "in")
    assert len(bench.store.counting) == 4


def test_it_comes_from_left_and_right_in_turn():
    bench = bench_of({"sides": True, "side_mm": 12.0}, trials=4)
    assert bench.carry_out().complete
    told = orders(bench)
    touched = [at for at, each in enumerate(told) if each == "touch"]
    assert [told[at - 2] for at in touched] == ["X28", "X52", "X28", "X52"]
    assert {told[at - 1] for at in touched} == {"X40"}
    side = bench.study.loop.side
    assert [side(trial) for trial in (1, 2, 3, 4)] == ["left", "right", "left", "right"]


def test_it_homes_anew_after_so_many_touches_and_the_record_tells_them_apart():
    bench = bench_of({"home_every": 4}, trials=10)
    assert bench.carry_out().complete
    told = [each for each in orders(bench) if each in {"home", "touch"}]
    assert told == [*["home", *["touch"] * 4] * 2, "home", "touch", "touch"]
    lies = [stretch.homings for stretch in stretches(bench.store.record())]
    assert lies == [1] * 4 + [2] * 4 + [3] * 2


def stays_down(printer: SmallPrinter) -> Callable[[str], None]:
    """It does not rise by itself after a touch."""

    def before(command: str) -> None:
        if command.startswith("G30"):
            printer.at = replace(printer.at, z=0.1)

    return before


def test_it_lifts_to_the_clear_height_between_touches():
    """Where the controller stays down after a touch; one that rises by itself is high already."""
    sent = {}
    for away in (False, True):
        shop = Workshop(looping({"lift_away": away}, trials=3))
        shop.printer.touches_mm = [0.1, 0.1, 0.1]
        shop.printer.before = stays_down(shop.printer)
        assert shop.carry_out(obliging()).complete
        commands = shop.printer.commands
        touched = [at for at, text in enumerate(commands) if text.startswith("G30")]
        between = commands[touched[0] : touched[-1]]
        sent[away] = {text.split()[1] for text in between if text.startswith("G1 Z")}
    clear = f"Z{machine_file().clear_z_mm:g}"
    assert clear in sent[True]
    assert clear not in sent[False]


def test_it_stops_once_it_went_on_for_long_enough_by_the_readings_own_times():
    """The bench's clock goes on by a microsecond at each look; here by ten seconds."""
    bench = bench_of({"longest_s": 60.0}, trials=1000)
    bench.tick = timedelta(seconds=10)
    finished = bench.carry_out()
    assert finished.complete
    assert "as long as it was to" in finished.reason
    times = [one.kept.reading.taken_at for one in bench.store.counting]
    assert (times[-1] - times[0]).total_seconds() >= 60
    assert (times[-2] - times[0]).total_seconds() < 60
    assert all(one < other for one, other in pairwise(times))
    decided = [event for event in bench.store.events if event.kind == "looked"]
    assert len(decided) == 1
    assert '"verdict": "long-enough"' in decided[0].data
    assert min(times) > EPOCH


@pytest.mark.parametrize("most", [1, 2, 5])
def test_so_many_touches_without_a_height_in_a_row_hold_it_with_the_head_up(most: int):
    file = arm_file(probe_blind_at_touch=4)
    bench = Bench(looping({"failures_in_row": most}), file)
    heights: list[float] = []
    bench.on_prompt = lambda prompt: heights.append(bench.printer.world.head.z_mm)
    assert bench.carry_out().complete
    assert len(bench.holds) == 1
    assert f"{most} touches at" in bench.holds[0]
    failed = [event for event in bench.store.events if event.kind == "touch failed"]
    assert len(failed) == most
    assert heights[-1] >= file.clear_z_mm - 0.01
    assert len(bench.store.counting) == 10


def test_what_looks_find_is_told_to_every_channel_and_the_spread_is_that_of_the_simulation():
    bench = bench_of({"known_to": 0.3}, trials=400)
    told: list[DecisionKept] = []
    bench.on_news = lambda item: told.append(item) if isinstance(item, DecisionKept) else None
    finished = bench.carry_out()
    assert finished.complete
    assert finished.reason == "the spread is known well enough"
    assert {each.kind for each in told} == {"looked"}
    last = told[-1].data["loop"]
    assert last["verdict"] == "known"
    assert last["n"] == len(bench.store.counting)
    assert last["low_mm"] <= bench.printer.world.truth.probe_sigma_mm <= last["high_mm"]
