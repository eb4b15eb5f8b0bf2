"""Whole studies over the real link on the simulated printer, its people answering, in jumping time.

The link, the machine, the gauges, the run, the simulated board and its physical side are the real
ones; only the store is on paper. What the simulation was given is known, so is what must come out.
"""

import asyncio
import itertools
from collections import Counter
from collections.abc import Callable
from datetime import timedelta

import pytest
from hostctl_simulators.people.channel import SimulatedPeople
from hostctl_simulators.registry import find_printer, forget_printers
from jumping_loop import in_jumping_time
from paper_store import PaperStore
from workshop import EPOCH, study_file

from hostctl.config.machine import BedScrew, Indicator, Machine, Point, Probe, Span, Travel
from hostctl.config.study import Cycle, Gauge, Method, Study
from hostctl.daemon.assembly.parts import open_gauge_port
from hostctl.link.link import Link
from hostctl.link.port import PortSettings
from hostctl.machine.machine import Machine as Printer
from hostctl.news import (
    Answer,
    HoldBegan,
    News,
    Prompt,
    PromptKind,
    PromptOpened,
    RunFinished,
    Word,
)
from hostctl.protocol.noise import NoiseLimit
from hostctl.run.channel import Channel
from hostctl.run.desk import Desk
from hostctl.run.order import RunOrder
from hostctl.run.runner import carry_out
from hostctl.store.rows import RunRecord

CORNERS_220 = {
    "front-left": (30, 30),
    "front-right": (190, 30),
    "back-left": (30, 190),
    "back-right": (190, 190),
}
CORNERS_TRI = {"front-left": (40, 40), "front-right": (260, 40), "back": (150, 260)}


def file_for(kind: str, **faults: object) -> Machine:
    """The machine file of a simulated printer with these faults."""
    tri = kind == "workshop-tri"
    corners, size_mm = (CORNERS_TRI, 300) if tri else (CORNERS_220, 220)
    query = "".join(f"&{key}={value}" for key, value in faults.items())
    return Machine(
        machine="sim",
        port=f"sim://{kind}?seed=7{query}",
        travel=Travel(
            x=Span(from_mm=0, to_mm=size_mm),
            y=Span(from_mm=0, to_mm=size_mm),
            z=Span(from_mm=-2 if tri else 0, to_mm=250),
        ),
        points=[Point(name=name, x_mm=x, y_mm=y) for name, (x, y) in corners.items()],
        screws=[BedScrew(name=name, x_mm=x, y_mm=y) for name, (x, y) in corners.items()],
        indicator=Indicator(offset_x_mm=25.0),
        probe=Probe(offset_y_mm=20.0) if tri else None,
        park=Point(name="park", x_mm=0, y_mm=200),
        dry_cycles=1,
    )


def comparison(**changes: object) -> Study:
    methods = [Method(name=name, instruction="Set it.") for name in ("paper-slip", "contact-light")]
    given: dict[str, object] = {
        "methods": methods,
        "operators": ["volunteer-a", "volunteer-b"],
        "points": ["front-left"],
        "trials": 5,
        "cycle": Cycle(settle_s=3.0, countdown_s=3),
    }
    return study_file(**(given | changes))


class Bench:
    """One run on one simulated printer."""

    def __init__(self, study: Study, file: Machine) -> None:
        forget_printers()
        self.study, self.file = study, file
        self.store, self.desk = PaperStore(), Desk()
        self.people: Channel | None = None  # else the simulated ones
        self.machine: Printer | None = None  # of the run that was begun last
        self.holds: list[str] = []
        self.prompts: list[Prompt] = []
        self.resends = 0
        self.on_news: Callable[[News], None] = lambda item: None
        self.on_prompt: Callable[[Prompt], None] = lambda prompt: None
        self._ticks = itertools.count()
        self.tick = timedelta(microseconds=1)  # how far the clock goes on at each look

    def carry_out(self, resume: RunRecord | None = None) -> RunFinished:
        return in_jumping_time(self._run(resume))

    @property
    def printer(self):
        return find_printer(self.file.port)

    async def _run(self, resume: RunRecord | None) -> RunFinished:
        link = Link(self.file.port, PortSettings(), noise=NoiseLimit())
        people = self.people or SimulatedPeople({"url": self.file.port})
        order = RunOrder(
            study=self.study,
            machine=self.file,
            study_text="",
            machine_text="",
            seed=7,
            resume=resume,
        )
        self.machine = Printer(self.file, link)
        async with asyncio.TaskGroup() as tasks, link.running():
            serving = [
                tasks.create_task(people.serve(self.desk)),
                tasks.create_task(self._look()),
            ]
            finished = await carry_out(
                order,
                machine=self.machine,
                store=self.store,
                desk=self.desk,
                now=lambda: EPOCH + next(self._ticks) * self.tick,
                open_port=open_gauge_port,
            )
            self.resends = link.resends
            for task in serving:
                task.cancel()
        return finished

    async def _look(self) -> None:
        async with self.desk.listening() as news:
            async for item in news:
                self.on_news(item)
                if isinstance(item, HoldBegan):
                    self.holds.append(item.reason)
                if isinstance(item, PromptOpened):
                    self.prompts.append(item.prompt)
                    self.on_prompt(item.prompt)


def test_a_comparison_runs_to_its_end_and_nothing_crashes():
    bench = Bench(comparison(), file_for("workshop-220"))
    assert bench.carry_out().complete
    assert bench.holds == []
    assert len(bench.store.counting) == 20
    assert bench.printer.world.crashes == []
    assert bench.printer.board.carriage.boot == 1


def test_what_comes_out_is_what_the_simulation_was_given():
    """Paper slip in new hands: 0.030 mm a setting. 30 trials know it within about 13 % (JCGM 100,
    table E.1), so half to twice is far outside chance."""
    study = comparison(
        methods=[Method(name="paper-slip", instruction="Set it.")],
        operators=["volunteer-b"],
        trials=30,
    )
    bench = Bench(study, file_for("workshop-220"))
    bench.carry_out()
    values = bench.store.values_mm()
    mean = sum(values) / len(values)
    sigma = (sum((value - mean) ** 2 for value in values) / (len(values) - 1)) ** 0.5
    truth = bench.printer.world.truth
    assert sigma == pytest.approx(truth.sigma_mm("paper-slip", "volunteer-b"), rel=0.5)


@pytest.mark.parametrize("kind", ["workshop-220", "workshop-tri"])
def test_both_dialects_give_a_rig_check(kind):
    study = comparison(kind="rig-check", methods=[], operators=[], trials=10)
    bench = Bench(study, file_for(kind))
    assert bench.carry_out().complete
    assert bench.holds == []
    assert len(bench.store.counting) == 10
    assert bench.printer.world.crashes == []


def test_a_slow_old_board_gives_a_comparison_with_nothing_sent_twice():
    bench = Bench(comparison(trials=2), file_for("workshop-220", dialect="old"))
    assert bench.carry_out().complete
    assert (bench.holds, bench.resends) == ([], 0)
    assert len(bench.store.counting) == 8
    assert bench.printer.world.crashes == []


def test_a_probe_loop_touches_every_point_so_many_times():
    study = comparison(
        kind="probe-loop",
        methods=[],
        operators=[],
        points=list(CORNERS_TRI),
        trials=10,
        reference="datum",
        gauge=Gauge(kind="probe", plausible_mm=2.0),
    )
    bench = Bench(study, file_for("workshop-tri"))
    assert bench.carry_out().complete
    assert [prompt.kind for prompt in bench.prompts] == [PromptKind.CONFIRM]
    assert len(bench.store.counting) == 30
    assert bench.printer.world.crashes == []


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["workshop-220", "workshop-tri"])
def test_with_a_bad_line_sixty_trials_end_with_the_same_readings(kind):
    """0.2 % of bytes damaged each way, about one line in twenty."""
    study = comparison(trials=15)
    clean, noisy = (Bench(study, file_for(kind, **bad)) for bad in ({}, {"corrupt": 0.002}))
    clean.carry_out()
    assert len(clean.store.counting) == 60
    finished = noisy.carry_out()
    moves = noisy.printer.board.carriage.done
    orders = [(done.boot, done.move.number) for done in moves if done.move.command[:2] == "G1"]
    assert finished.complete
    assert noisy.holds == []
    assert noisy.resends > 50
    assert noisy.store.values_mm() == clean.store.values_mm()
    assert len(orders) == len(set(orders))
    assert noisy.printer.world.crashes == []


def test_a_line_too_noisy_to_trust_holds_the_run():
    bench = Bench(comparison(), file_for("workshop-220", corrupt=0.016))
    ends_at_hold(bench)
    assert not bench.carry_out().complete
    assert any("too many lines had to be sent again" in reason for reason in bench.holds)


@pytest.mark.parametrize("kind", ["workshop-220", "workshop-tri"])
def test_a_reset_in_mid_move_holds_at_once_and_the_block_is_begun_again(kind):
    bench = Bench(comparison(trials=3), file_for(kind, reset_at_move=90))
    assert bench.carry_out().complete
    assert len(bench.holds) == 1
    assert "restarted" in bench.holds[0]
    assert [mark.reason for mark in bench.store.marks] in ([], ["zero lost"])
    assert bench.printer.counts.resets == 1
    assert len(bench.store.counting) == 12
    assert bench.printer.world.crashes == []


def test_a_pulled_cable_holds_and_is_found_again():
    bench = Bench(comparison(trials=3), file_for("workshop-220", unplug_at_command=300))
    assert bench.carry_out().complete
    assert len(bench.holds) >= 1
    assert len(bench.store.counting) == 12


class FromAfar:
    """Somebody who has no hands at the simulated printer, only what the prompts say."""

    name = "from afar"

    async def serve(self, desk: Desk) -> None:
        async with desk.listening() as news:
            async for item in news:
                if isinstance(item, PromptOpened):
                    desk.answer(self.answer(item.prompt))

    def answer(self, prompt: Prompt) -> Answer:
        reads = prompt.kind is PromptKind.READ
        return Answer(
            prompt_id=prompt.prompt_id,
            word=Word.READING if reads else Word.DONE,
            reading_mm=prompt.simulated_indicator_mm if reads else None,
            channel=self.name,
            given_at=prompt.opened_at,
        )


def test_what_a_simulated_indicator_shows_stands_in_each_prompt_that_asks_for_it():
    study = comparison(kind="rig-check", methods=[], operators=[], trials=10)
    bench = Bench(study, file_for("workshop-220"))
    bench.people = FromAfar()
    assert bench.carry_out().complete
    asked = {PromptKind.ZERO: 1, PromptKind.READ: 10}
    shown = [one for one in bench.prompts if one.simulated_indicator_mm is not None]
    assert Counter(one.kind for one in shown) == asked
    before_zero_mm = shown[0].simulated_indicator_mm
    assert before_zero_mm is not None
    assert before_zero_mm > 0.1  # the plunger is pressed in
    assert all(abs(value) <= 0.05 for value in bench.store.values_mm())
    assert len(set(bench.store.values_mm())) > 1
    assert bench.printer.world.indicator.zeroings == 1


def test_simulated_people_turn_the_indicator_to_zero_once():
    study = comparison(kind="rig-check", methods=[], operators=[], trials=3)
    bench = Bench(study, file_for("workshop-220"))
    assert bench.carry_out().complete
    assert bench.printer.world.indicator.zeroings == 1


def ends_at_hold(bench: Bench) -> None:
    """Somebody says end as soon as the run is held."""
    from workshop import said

    def end(prompt: Prompt) -> None:
        if prompt.text.startswith("The run is on hold"):
            bench.desk.answer(said(prompt, Word.END))

    bench.on_prompt = end


@pytest.mark.parametrize("dialect", ["classic", "terse"])
def test_a_probe_that_fails_one_touch_in_five_has_each_failure_on_record(dialect):
    study = comparison(
        kind="probe-loop",
        methods=[],
        operators=[],
        points=list(CORNERS_TRI),
        trials=20,
        reference="datum",
        gauge=Gauge(kind="probe", plausible_mm=2.0),
    )
    bench = Bench(study, file_for("workshop-tri", probe_fails=0.2, dialect=dialect))
    assert bench.carry_out().complete
    failed = [event for event in bench.store.events if event.kind == "touch failed"]
    assert len(failed) == bench.printer.counts.touches_failed > 5
    assert {event.text for event in failed} == {"no touch: the probe was triggered before it moved"}
    assert len(bench.store.counting) == 60
