"""Levelling through the real run, line and board on the simulated printer; what goes wrong."""

import asyncio
import itertools
import json
from collections.abc import Callable
from statistics import fmean
from urllib.parse import urlencode

import pytest
from hostctl_simulators.people.channel import SimulatedPeople
from paper_bed import level_study
from test_gauges_in_a_run import on_a_line
from test_simulated_printer import CORNERS_TRI, Bench, file_for
from workshop import said

from hostctl.config.grid import with_grid
from hostctl.config.machine import Turn
from hostctl.config.parts.gauge import Gauge
from hostctl.config.parts.level import Grid, Level, Still
from hostctl.config.study import Study, Warmth
from hostctl.deeds import LiftHold, PressPlunger, ReadIndicator, TurnScrew
from hostctl.news import LiveReading, News, Prompt, Word
from hostctl.run.desk import Desk
from hostctl.store.rows import LEVELLED

PROBE = Gauge(kind="probe", resolution_mm=0.0025, plausible_mm=6.0)
TILTED = {"tilt_mm": 1.0, "bed_mm": -0.9}


def bench_of(study: Study, kind: str = "workshop-220", **built: object) -> Bench:
    file = file_for(kind, **(TILTED | built))
    return Bench(study, with_grid(study, file))


def by_probe(**changes: object) -> Study:
    return level_study(points=list(CORNERS_TRI), gauge=PROBE, **changes)


def rounds(bench: Bench) -> list[dict]:
    return [json.loads(event.data) for event in bench.store.events if event.kind == LEVELLED]


def verdicts(bench: Bench) -> list[str]:
    return [one["verdict"] for one in rounds(bench)]


def turns(bench: Bench) -> list[TurnScrew]:
    return [prompt.deed for prompt in bench.prompts if isinstance(prompt.deed, TurnScrew)]


def tilt_of_screws_mm(bench: Bench) -> float:
    heights = bench.printer.world.bed.heights_mm.values()
    return max(heights) - min(heights)


def levelled(bench: Bench) -> None:
    assert bench.carry_out().complete
    assert verdicts(bench)[-1] in ("within-tolerance", "within-rig")
    assert tilt_of_screws_mm(bench) < 0.06
    assert bench.printer.world.crashes == []


def test_typed_readings_level_a_bed_and_nothing_crashes():
    bench = bench_of(level_study())
    levelled(bench)
    assert bench.holds == []
    assert sum(isinstance(prompt.deed, PressPlunger) for prompt in bench.prompts) == 1
    asked = sum(isinstance(prompt.deed, ReadIndicator) for prompt in bench.prompts)
    assert asked == 9 * len(rounds(bench))


def test_a_machines_probe_levels_a_bed_and_hands_are_asked_for_between_rounds_alone():
    bench = bench_of(by_probe(), "workshop-tri")
    levelled(bench)
    kinds = [prompt.deed.do for prompt in bench.prompts]
    assert kinds == ["clear-bed", *["turn-screw"] * len(turns(bench))]


def test_a_grid_is_within_reach():
    study = level_study(level=Level(grid=Grid(across=3, back=2)))
    bench = bench_of(study)
    levelled(bench)
    assert len(rounds(bench)[0]["heights"]) == 10


def test_an_indicator_whose_number_falls_levels_as_well():
    bench = bench_of(level_study(), indicator_falls=1)
    levelled(bench)
    assert verdicts(bench) == ["turn", "within-tolerance"]


class Unhurried:
    """Simulated people who take a second for each turn, and note when live readings come."""

    name = "unhurried"

    def __init__(self, bench: Bench) -> None:
        self.seen_s: list[float] = []
        self._people = SimulatedPeople({"url": bench.file.port, "pause_s": 1.0})
        self._on_news, bench.on_news = bench.on_news, self._note

    def _note(self, item: News) -> None:
        self._on_news(item)
        if isinstance(item, LiveReading):
            self.seen_s.append(asyncio.get_running_loop().time())

    async def serve(self, desk) -> None:
        await self._people.serve(desk)


@pytest.mark.parametrize("raise_mm", [0.05, -0.12])
def test_the_mean_true_gap_falls_by_what_the_bed_is_raised(raise_mm: float):
    """The nozzle at z = 0; what the simulation was given is known."""
    bench = bench_of(level_study(level=Level(grid=None, raise_mm=raise_mm)), tilt_mm=0.4)
    before_mm = mean_gap_mm(bench)
    levelled(bench)
    assert before_mm - mean_gap_mm(bench) == pytest.approx(raise_mm, abs=0.015)


def mean_gap_mm(bench: Bench) -> float:
    bed = bench.printer.world.bed
    return -fmean(bed.height_mm(point.x_mm, point.y_mm) for point in bench.file.points)


@pytest.mark.parametrize("gauge", [PROBE, level_study().gauge], ids=["probe", "typed"])
def test_two_screws_and_a_fixed_corner_level_a_bed(gauge: Gauge):
    level = Level(grid=None, keep="back")
    bench = bench_of(
        level_study(points=list(CORNERS_TRI), gauge=gauge, level=level), "workshop-tri"
    )
    two = [screw for screw in bench.file.screws if screw.name != "back"]
    bench.file = bench.file.model_copy(update={"screws": two})
    was_mm = bench.printer.world.bed.heights_mm["back"]
    levelled(bench)
    assert bench.printer.world.bed.heights_mm["back"] == was_mm
    assert {deed.screw for deed in turns(bench)} <= {"front-left", "front-right"}
    assert all("back" not in (one["screw"] for one in each["turns"]) for each in rounds(bench))
    assert len(rounds(bench)) == 2


# ---------------------------------------------------------------- live


def told_live(bench: Bench) -> list[LiveReading]:
    told: list[LiveReading] = []

    def note(item: News) -> None:
        if isinstance(item, LiveReading):
            told.append(item)

    bench.on_news = note
    return told


def test_an_indicator_on_a_line_is_seen_while_a_screw_is_turned_and_nothing_is_kept_of_it():
    line = on_a_line(faults=f"&{urlencode(TILTED)}").model_copy(update={"plausible_mm": 6.0})
    bench = bench_of(level_study(gauge=line))
    told = told_live(bench)
    bench.people = Unhurried(bench)
    levelled(bench)
    targets = {prompt.prompt_id: prompt.deed for prompt in bench.prompts}
    assert {one.prompt_id for one in told} == {
        prompt.prompt_id for prompt in bench.prompts if isinstance(prompt.deed, TurnScrew)
    }
    for one in told:
        deed = targets[one.prompt_id]
        assert isinstance(deed, TurnScrew)
        assert one.target_mm == deed.target_mm
    assert len(bench.store.counting) == 9 * len(rounds(bench))
    times = bench.people.seen_s
    apart = [after - before for before, after in itertools.pairwise(times)]
    assert min(apart) >= 0.2 - 1e-9


# ---------------------------------------------------------------- faults


@pytest.mark.parametrize("bed_mm", [-0.3, -0.65])  # the lower one is met no more at a corner
def test_a_wrong_machine_file_is_told_after_a_hold_too(bed_mm: float):
    bench = bench_of(level_study(), tilt_mm=0.8, bed_mm=bed_mm, raises="anticlockwise")
    at(bench, 1, TurnScrew, lambda prompt: bench.desk.answer(said(prompt, Word.HOLD)))
    ended = bench.carry_out()
    assert verdicts(bench) == ["turn", "turn", "no-better"]
    assert "turning made it worse" in ended.reason
    assert "Then correct raises_bed" in ended.reason


def test_a_machine_file_that_is_wrong_about_every_screw_is_told_and_how_to_undo_it():
    bench = bench_of(level_study(), tilt_mm=0.6, raises="anticlockwise")
    ended = bench.carry_out()
    assert ended.complete
    assert verdicts(bench) == ["turn", "no-better"]
    assert rounds(bench)[1]["unmet"] == ["back-left"]
    for deed in turns(bench):
        back = "anticlockwise" if deed.direction == "clockwise" else "clockwise"
        assert f"{deed.screw} {deed.turn_deg:g}° {back}, seen from above" in ended.reason
    assert "Then correct raises_bed" in ended.reason
    assert bench.printer.world.crashes == []


@pytest.mark.parametrize(
    ("fault", "noticed"),
    [
        ({"wrong_way_at_turn": 1}, "was turned the other way"),
        ({"wrong_screw_at_turn": 1}, "seems"),
        ({"no_turn_at_turn": 1}, "seems not to have been turned"),
    ],
)
def test_a_turn_that_goes_wrong_is_noticed_said_and_mended(fault, noticed):
    bench = bench_of(by_probe(), "workshop-tri", **fault)
    levelled(bench)
    assert noticed in " ".join(rounds(bench)[1]["noticed"])


def test_a_knocked_indicator_turns_no_screw():
    bench = bench_of(level_study(), spoiled_at_lowering=20, knocked_mm=0.2)
    levelled(bench)
    assert "jumped" in verdicts(bench)


def test_people_who_turn_too_far_need_a_round_more():
    bench = bench_of(by_probe(), "workshop-tri", turned_too_far=0.1, turned_unevenly_deg=5)
    levelled(bench)
    assert len(rounds(bench)) <= 3


def test_a_probe_that_goes_blind_holds_and_goes_on():
    bench = bench_of(by_probe(), "workshop-tri", probe_blind_at_touch=9)
    levelled(bench)
    assert len(bench.holds) >= 1


def at(bench: Bench, number: int, of: type, do: Callable[[Prompt], None]) -> None:
    """Something happens at a prompt of this kind, counted from 1."""
    met: list[Prompt] = []

    def look(prompt: Prompt) -> None:
        if isinstance(prompt.deed, of):
            met.append(prompt)
            if len(met) == number:
                do(prompt)

    bench.on_prompt = look


@pytest.mark.parametrize("number", [1, 2])
def test_a_hold_while_screws_are_turned_measures_anew_and_asks_no_turn_twice(number):
    bench = bench_of(level_study(points=list(CORNERS_TRI)), "workshop-tri")
    at(bench, number, TurnScrew, lambda prompt: bench.desk.answer(said(prompt, Word.HOLD)))
    levelled(bench)
    assert len(bench.holds) == 1
    (hold,) = [prompt for prompt in bench.prompts if isinstance(prompt.deed, LiftHold)]
    assert hold.moves_next == "The head lifts, then all axes home, and the bed is measured anew."
    assert "measured anew" in " ".join(rounds(bench)[1]["noticed"])


def test_a_hold_while_heights_are_read_homes_nothing_and_says_so():
    bench = bench_of(level_study(points=list(CORNERS_TRI)), "workshop-tri")
    at(bench, 3, ReadIndicator, lambda prompt: bench.desk.answer(said(prompt, Word.HOLD)))
    levelled(bench)
    (hold,) = [prompt for prompt in bench.prompts if isinstance(prompt.deed, LiftHold)]
    assert hold.moves_next == "The head lifts, and the trial in hand is begun again."


@pytest.mark.parametrize("number", [1, 2])
def test_ended_at_a_turn_it_is_gone_on_with_by_measuring_anew(number):
    bench = bench_of(level_study())
    at(bench, number, TurnScrew, lambda prompt: bench.desk.answer(said(prompt, Word.END)))
    assert not bench.carry_out().complete
    before = turns(bench)
    later = _again(bench)
    assert later.carry_out(resume=bench.store.record()).complete
    assert verdicts(later)[-1] == "within-tolerance"
    begun = later.prompts[0].detail
    assert "its screws were being turned: the bed is measured anew" in begun
    assert "of block" not in begun
    first_turn = next(
        (n for n, p in enumerate(later.prompts) if isinstance(p.deed, TurnScrew)), None
    )
    read = [p for p in later.prompts[:first_turn] if isinstance(p.deed, ReadIndicator)]
    assert len(read) >= 9
    assert len(before) == number


def test_ended_while_heights_are_read_it_says_how_many_and_that_they_are_taken_anew():
    bench = bench_of(level_study())
    at(bench, 14, ReadIndicator, lambda prompt: bench.desk.answer(said(prompt, Word.END)))
    assert not bench.carry_out().complete
    later = _again(bench)
    assert later.carry_out(resume=bench.store.record()).complete
    assert later.prompts[0].detail.startswith(
        "Round 2 was being measured: 4 of 9 readings. Homing comes first, so they are taken anew."
    )


def _again(bench: Bench) -> Bench:
    """A new program at the same printer and record."""
    later = Bench.__new__(Bench)
    later.__dict__ |= bench.__dict__
    later.desk, later.holds, later.prompts = Desk(), [], []
    later.on_prompt = lambda prompt: None
    return later


@pytest.mark.slow
def test_a_reset_or_a_pulled_cable_anywhere_costs_a_hold_and_no_reading_twice():
    study = level_study(points=list(CORNERS_TRI))
    for move in range(5, 120, 23):
        bench = bench_of(study, "workshop-tri", reset_at_move=move)
        levelled(bench)
        assert len(bench.holds) == 1
    for command in (150, 320, 500):
        bench = bench_of(study, "workshop-tri", unplug_at_command=command)
        levelled(bench)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_seeded_beds_are_levelled_over_the_simulated_line(seed):
    study = level_study() if seed % 2 else by_probe()
    kind = "workshop-220" if seed % 2 else "workshop-tri"
    bench = bench_of(
        study,
        kind,
        tilt_mm=0.3 + 0.15 * seed,
        bed_mm=-0.2 - 0.03 * seed,
        raises="anticlockwise" if seed % 3 == 0 else "clockwise",
        turned_unevenly_deg=3,
    )
    screws = [screw.model_copy(update={"raises_bed": _raises(seed)}) for screw in bench.file.screws]
    bench.file = bench.file.model_copy(update={"screws": screws})
    levelled(bench)


def _raises(seed: int) -> Turn:
    return Turn.ANTICLOCKWISE if seed % 3 == 0 else Turn.CLOCKWISE


def warm_bench() -> Bench:
    study = by_probe(
        warmth=Warmth(bed_c=45.0, soak_s=0.0),
        level=Level(grid=None, still=Still(within_mm=0.01, look_every_s=30.0)),
    )
    return bench_of(study, "workshop-tri")


def test_a_warm_bed_is_waited_for_until_it_is_still():
    bench = warm_bench()
    levelled(bench)
    (told,) = [event for event in bench.store.events if event.kind == "decided"]
    assert told.text.startswith("The warm bed is still")
