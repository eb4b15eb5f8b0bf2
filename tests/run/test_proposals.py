"""A kind of study only proposes: what is not in order is refused before anything moves."""

import ast
import inspect
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from odd_kind import ASKS_NOBODY, SETS, Odd, away_and_back, one_after_the_other, trial
from stranger import kinds_installed
from workshop import Workshop, obliging, said, study_file

from hostctl.config.machine import Point
from hostctl.config.study import Gauge, Study
from hostctl.deeds import ClearBed, LayBlock, LiftHold, SetGap, TakeBlock, TurnScrew
from hostctl.errors import PluginError
from hostctl.news import HoldBegan, Prompt, PromptKind, Word
from hostctl.records import Place
from hostctl.run.procedures import procedure
from hostctl.run.procedures.motions import BringAndRead, CarryPlungerOver, GoAway, GoOver
from hostctl.run.procedures.procedure import Decision, Finished, SoFar

HERE, THERE = "front-left", "back-left"
LOWERED = TurnScrew(screw=HERE, turn_deg=90, direction="anticlockwise")


@pytest.fixture(autouse=True)
def _odd(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    with kinds_installed(tmp_path, monkeypatch, {"odd": "odd_kind:Odd"}):
        yield


def odd_study(**changes: object) -> Study:
    return study_file(**({"kind": "odd"} | changes))


def proposing(monkeypatch: pytest.MonkeyPatch, **parts: Any) -> None:
    for name, part in parts.items():
        monkeypatch.setattr(Odd, name, staticmethod(part) if callable(part) else part)


def refused_at_the_start(study: Study) -> str:
    """Why it was; nothing was sent that moves, nobody was asked, no run is on record."""
    shop = Workshop(study)
    with pytest.raises(ExceptionGroup) as group:
        shop.carry_out(obliging())
    (refused,) = group.value.exceptions
    assert isinstance(refused, PluginError)
    assert shop.printer.moves == []
    assert (shop.prompts, shop.store.run) == ([], None)
    assert "\n" not in str(refused)
    return str(refused)


def test_what_is_in_order_is_carried_out():
    shop = Workshop(odd_study())
    finished = shop.carry_out(obliging([0.01, 0.02, 0.03]))
    assert (finished.complete, finished.reason) == (True, "all is done")
    assert shop.store.values_mm() == [0.01, 0.02, 0.03]
    assert shop.printer.offences == []


def raising(so_far: SoFar) -> None:
    raise ZeroDivisionError("of its own making")


@pytest.mark.parametrize(
    ("following", "why"),
    [
        (lambda so_far: "G1 X0 Y0 Z-5", "proposes 'G1 X0 Y0 Z-5', which is no step"),
        (lambda so_far: GoOver(point=HERE), "which is no step"),
        (lambda so_far: None, "proposes None, which is no step"),
        (lambda so_far: trial(point="moon"), "goes to 'moon', which is no point of machine"),
        (lambda so_far: trial(point=["moon"]), "goes to ['moon'], which is no point of machine"),
        (lambda so_far: trial(block=0), "counts wrongly: block 0, trial 1"),
        (lambda so_far: trial(-1), "counts wrongly: block 1, trial -1"),
        (lambda so_far: trial("one"), "fails (TypeError: "),
        (lambda so_far: trial(operator="nobody-known"), "who is no operator of the study"),
        (raising, "fails (ZeroDivisionError: of its own making)"),
        (lambda so_far: Decision(what="odd", data={"of": object()}), "what can't be written down"),
    ],
)
def test_what_is_no_step_is_refused_before_the_run(
    monkeypatch: pytest.MonkeyPatch, following: Callable[[SoFar], Any], why: str
):
    proposing(monkeypatch, following=following)
    said_of_it = refused_at_the_start(odd_study())
    assert said_of_it.startswith("study kind 'odd': ")
    assert why in said_of_it


@dataclass(frozen=True)
class Heating:
    """What the closed set does not hold."""

    bed_c: float = 110.0


@pytest.mark.parametrize(
    ("deeds", "why"),
    [
        ([], "proposes nothing to be done at trial 1 of block 1"),
        (["M140 S110"], "proposes 'M140 S110', which is no deed of a step"),
        ([Heating()], "which is no deed of a step"),
        ([ClearBed()], "which is no deed of a step"),
        ([LiftHold()], "which is no deed of a step"),
        ([GoOver(point=HERE), BringAndRead(point="moon")], "goes to 'moon'"),
        ([GoOver(point="moon"), BringAndRead(point=HERE)], "goes to 'moon'"),
        ([GoAway(point=Point(name="x", x_mm=900, y_mm=0))], "which is no point of machine"),
        ([BringAndRead(point=HERE)] * 2, "moves on after the reading"),
        ([SetGap(method="paper-slip"), BringAndRead(point=HERE)], "where the nozzle is not over"),
        ([GoOver(point=THERE), SetGap(method="paper-slip")], "where the nozzle is not over"),
        ([GoOver(point=HERE), SetGap(method="by-eye")], "'by-eye', which is no method of"),
        ([LOWERED], "where the nozzle is not over"),
        (
            [GoOver(point=HERE), TurnScrew(screw=HERE, turn_deg=90, direction="clockwise")],
            "so that the bed is not lowered at front-left",
        ),
        (
            [GoOver(point=HERE), TurnScrew(screw=HERE, turn_deg=-90, direction="anticlockwise")],
            "so that the bed is not lowered",
        ),
        ([LayBlock(thick_mm=4.0)], "where the plunger is not over front-left"),
        (
            [CarryPlungerOver(point=HERE), LayBlock(thick_mm=4.0)],
            "has a gauge block laid that the study does not have",
        ),
    ],
)
def test_what_is_no_deed_of_this_study_on_this_machine_is_refused_before_the_run(
    monkeypatch: pytest.MonkeyPatch, deeds: Sequence[Any], why: str
):
    proposing(monkeypatch, words=SETS, way=lambda place, so_far: deeds)
    assert why in refused_at_the_start(odd_study())


def test_a_gauge_block_is_read_where_it_was_laid_or_not_at_all(monkeypatch: pytest.MonkeyPatch):
    study = odd_study(reference="datum", gauge=Gauge(block_mm=4.0))
    lain = [CarryPlungerOver(point=HERE), LayBlock(thick_mm=4.0)]
    proposing(monkeypatch, way=lambda place, so_far: [*lain, BringAndRead(point=THERE)])
    assert "reads elsewhere than on the gauge block" in refused_at_the_start(study)


def test_a_block_that_was_laid_and_not_taken_is_taken_before_anything_goes_sideways(
    monkeypatch: pytest.MonkeyPatch,
):
    study = odd_study(reference="datum", gauge=Gauge(block_mm=4.0))
    deeds = [CarryPlungerOver(point=HERE), LayBlock(thick_mm=4.0), GoAway(point=THERE)]
    proposing(monkeypatch, way=lambda place, so_far: deeds)
    shop = Workshop(study)
    assert shop.carry_out(obliging()).complete
    asked = [type(prompt.deed).__name__ for prompt in shop.prompts]
    assert asked == ["ClearBed", *["LayBlock", "TakeBlock"] * 3]
    assert shop.printer.offences == []


@pytest.mark.parametrize(
    ("deeds", "why"),
    [
        ([TakeBlock()], "asks for hands (take-block), but says that nobody is asked"),
        ([BringAndRead(point=HERE)], "reads a gauge that somebody has to type"),
    ],
)
def test_a_kind_that_says_that_nobody_is_asked_asks_nobody(
    monkeypatch: pytest.MonkeyPatch, deeds: Sequence[Any], why: str
):
    proposing(monkeypatch, words=ASKS_NOBODY, way=lambda place, so_far: deeds)
    assert why in refused_at_the_start(odd_study())


def test_a_kind_that_says_that_nobody_sets_has_nothing_set(monkeypatch: pytest.MonkeyPatch):
    deeds = [GoOver(point=HERE), SetGap(method="paper-slip")]
    proposing(monkeypatch, way=lambda place, so_far: deeds)
    assert "has something set (set-gap), but says that nobody sets" in refused_at_the_start(
        odd_study()
    )


def ending_at_a_hold(prompt: Prompt):
    if isinstance(prompt.deed, LiftHold):
        return said(prompt, Word.END)
    return obliging()(prompt)


def bad_from_the_second(place: Place, so_far: SoFar) -> Sequence[Any]:
    return away_and_back(place, so_far) if place.trial == 1 else [GoOver(point="moon")]


def done_again(so_far: SoFar) -> Any:
    return trial(1)


def always_deciding(so_far: SoFar) -> Any:
    return Decision(what="again", data={}) if so_far.done else trial(1)


@pytest.mark.parametrize(
    ("parts", "why"),
    [
        ({"way": bad_from_the_second}, "goes to 'moon', which is no point of machine 'bench'"),
        ({"following": done_again}, "proposes trial 1 of block 1, which is done"),
        ({"following": always_deciding}, "decides 20 times in a row and does nothing"),
    ],
)
def test_what_is_not_in_order_later_on_is_a_hold_and_nothing_moves_any_more(
    monkeypatch: pytest.MonkeyPatch, parts: dict[str, Any], why: str
):
    proposing(monkeypatch, **parts)
    shop = Workshop(odd_study())
    moves_at_hold: list[int] = []

    def on_news(item: object) -> None:
        if isinstance(item, HoldBegan):
            moves_at_hold.append(len(shop.printer.moves))

    shop.on_news = on_news
    assert not shop.carry_out(ending_at_a_hold).complete
    (held,) = shop.told(HoldBegan)
    assert isinstance(held, HoldBegan)
    assert why in held.reason
    assert [len(shop.printer.moves)] == moves_at_hold
    assert len(shop.store.readings) == 1


def test_a_step_in_which_nothing_is_read_is_done_once_and_is_not_done_again_on_resuming(
    monkeypatch: pytest.MonkeyPatch,
):
    """As a screw to be turned for good: a run that stopped must not have it turned twice."""

    def following(so_far: SoFar) -> Any:
        if (1, 1) not in so_far.done:
            return trial(1)
        return trial(1, block=2) if (2, 1) not in so_far.done else Finished(reason="both are done")

    def way(place: Place, so_far: SoFar) -> Sequence[Any]:
        turning = [GoOver(point=HERE), LOWERED]
        return turning if place.block == 1 else away_and_back(place, so_far)

    proposing(monkeypatch, words=SETS, following=following, way=way)
    shop = Workshop(odd_study())

    def ending_at_the_reading(prompt: Prompt):
        return said(prompt, Word.END if prompt.kind is PromptKind.READ else Word.DONE)

    assert not shop.carry_out(ending_at_the_reading).complete
    assert [event.text for event in shop.store.events if event.kind == "carried out"] == [
        "trial 1 of block 1"
    ]
    later = Workshop(odd_study(), store=shop.store)
    monkeypatch.setattr(Odd, "still_to_come", lambda self, so_far: [])  # no zero is lost with it
    assert later.carry_out(obliging([0.02]), resume=True).reason == "both are done"
    assert [type(prompt.deed).__name__ for prompt in later.prompts] == ["ClearBed", "ReadIndicator"]


def test_people_are_counted_down_to_wherever_hands_were_asked_for(monkeypatch: pytest.MonkeyPatch):
    """The kind has no say in it: after a reading was typed, coming again is counted down too."""
    proposing(monkeypatch, way=lambda place, so_far: [BringAndRead(point=place.point)])
    shop = Workshop(odd_study())
    assert shop.carry_out(obliging()).complete
    counted = [item.what for item in shop.news if getattr(item, "seconds_left", None) == 3]
    assert counted.count("The head brings the indicator over front-left.") == 2


def test_a_procedure_is_given_nothing_that_moves_heats_or_answers():
    """Records alone: its parts and what happened know of no machine, desk, gauge or link."""
    fields = {*procedure.ProcedureParts.__annotations__, *procedure.SoFar.__annotations__}
    assert fields == {
        *("study", "machine", "seed", "zeros"),
        *("kept", "done", "rounds", "attempts", "decisions"),
        *("trials_done", "contacts", "grows_pressed", "since_break", "breaks"),
        "homings",
    }
    modules = {
        node.module
        for node in ast.walk(ast.parse(inspect.getsource(procedure)))
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("hostctl")
    }
    assert {module.split(".")[1] for module in modules} == {
        *("config", "plugins", "records", "run", "store"),
    }
    with pytest.raises(TypeError):
        one_so_far().kept[1, 1] = 0.0  # type: ignore[index]  # that is what is shown


def one_so_far() -> SoFar:
    from hostctl.run.record.progress import Progress

    return Progress(3).so_far


def test_what_was_done_can_be_asked_and_not_changed():
    so_far = one_so_far()
    assert isinstance(one_after_the_other(so_far), procedure.Trial)
    assert not hasattr(so_far.done, "add")
