"""Whole axis tests and gauge comparisons on simulated printers whose truth is known."""

from collections import Counter
from dataclasses import replace

import pytest
from a_place import A_PLACE
from going import a_reading
from test_simulated_printer import Bench, file_for
from workshop import study_file

from hostctl.config.parts.axis import AxisTest
from hostctl.config.parts.gauge import Gauge
from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.deeds import ClearBed, PressPlunger
from hostctl.metrology.geometry.axis_oddities import moves_less, passes_together
from hostctl.run.procedures.kinds.axis_test import AxisTest as AxisProcedure
from hostctl.run.procedures.motions import BringAndRead, StepAndRead
from hostctl.run.procedures.procedure import Kept, ProcedureParts, SoFar
from hostctl.run.procedures.rules import Rules
from hostctl.store.rows import PLUNGER_SIGN

TARGETS_MM = [-2.9, -2.13, -1.3, -0.55, 0.22]
STEP = StepAndRead(point="front-left", above_mm=-2.9, coming_from="below", overrun_mm=0.2)


def axis_test(**changes: object) -> Study:
    axis = AxisTest(targets_mm=TARGETS_MM, runs=2, **changes)  # type: ignore[arg-type]
    return study_file(
        kind="axis-test",
        methods=[],
        operators=[],
        reference="datum",
        trials=axis.trials,
        axis=axis,
        gauge=Gauge(plausible_mm=0.15),
    )


def two_gauges() -> Study:
    return study_file(
        kind="gauge-comparison",
        methods=[],
        operators=[],
        points=["front-left", "back"],
        reference="datum",
        trials=4,
        gauge=Gauge(kind="probe", resolution_mm=0.0025),
        second_gauge=Gauge(kind="typed"),
    )


def deviations_mm(bench: Bench, study: Study) -> dict[tuple[int, str], list[float]]:
    """By target and side, up to what is common to all; the plunger grows as it is pressed in."""
    assert study.axis is not None
    found: dict[tuple[int, str], list[float]] = {}
    for one in bench.store.counting:
        aim = study.axis.aim(one.kept.place.trial)
        value_mm = -one.kept.reading.value_mm - aim.target_mm
        found.setdefault((aim.target, aim.coming_from), []).append(value_mm)
    return found


def test_an_axis_test_goes_up_the_targets_and_down_them_with_the_plunger_on_the_bed():
    study = axis_test()
    bench = Bench(study, file_for("workshop-220"))
    assert bench.carry_out().complete
    assert bench.holds == []
    assert bench.printer.world.crashes == []
    heights = [one.kept.reading.at.z_mm - 5.0 for one in bench.store.counting]
    assert heights == pytest.approx([*TARGETS_MM, *TARGETS_MM[::-1]] * 2)
    assert bench.store.kinds().count(PLUNGER_SIGN) == 1
    assert Counter(type(each.deed) for each in bench.prompts)[PressPlunger] == 1


def test_it_finds_the_play_and_the_lead_error_that_the_axis_has():
    study = axis_test()
    bench = Bench(study, file_for("workshop-220", z_play_mm=0.05, noise=0))
    bench.carry_out()
    found = deviations_mm(bench, study)
    for target in range(1, len(TARGETS_MM) + 1):
        up, down = (sum(found[target, way]) / 2 for way in ("below", "above"))
        assert up - down == pytest.approx(-0.05, abs=0.0101)


def test_a_pass_over_the_targets_shares_where_its_descent_came_to_rest():
    """As the simulated axis has it, once a descent; so the result says it of the passes."""
    axis = AxisTest(targets_mm=[-3.3, -2.53, -1.7, -0.95, -0.18], runs=5)
    study = axis_test().model_copy(update={"axis": axis, "trials": axis.trials})
    bench = Bench(study, file_for("workshop-220", noise=5))
    bench.carry_out()
    found = deviations_mm(bench, study)
    up, down = ([found[at, way] for at in range(1, 6)] for way in ("below", "above"))
    together = passes_together(up, down, 0.01)
    assert together is not None
    assert together.spread > together.rest
    assert moves_less(up, down, 0.01) is None


def test_from_above_alone_it_never_comes_from_below():
    study = axis_test(both_sides=False)
    bench = Bench(study, file_for("workshop-220", z_play_mm=0.05, noise=0))
    bench.carry_out()
    assert {way for _, way in deviations_mm(bench, study)} == {"above"}


def test_a_hold_that_homes_begins_the_block_again():
    study = axis_test()
    bench = Bench(study, file_for("workshop-220", reset_at_move=40))
    assert bench.carry_out().complete
    assert bench.holds
    rounds = Counter(one.kept.place.round for one in bench.store.counting)
    assert rounds[max(rounds)] == study.trials


def test_two_gauges_read_each_place_in_turn_and_are_told_apart():
    bench = Bench(two_gauges(), file_for("workshop-tri"))
    assert bench.carry_out().complete
    assert bench.holds == []
    order = [(new.place.point, new.place.trial, new.place.method) for new in bench.store.readings]
    assert order[:4] == [
        ("front-left", 1, "probe"),
        ("front-left", 1, "typed"),
        ("front-left", 2, "typed"),
        ("front-left", 2, "probe"),
    ]
    assert Counter(method for *_, method in order) == {"probe": 8, "typed": 8}
    assert {new.reading.source for new in bench.store.readings} == {"probe", "typed"}
    assert bench.store.kinds().count(PLUNGER_SIGN) == 1
    assert bench.printer.world.crashes == []


def test_a_reading_that_the_axis_cannot_have_come_to_is_asked_for_again():
    """As where somebody misreads a whole turn of the pointer: held against the first reading."""
    study = axis_test()
    procedure = AxisProcedure(
        ProcedureParts(study=study, machine=file_for("workshop-220"), seed=1, zeros=False)
    )
    first = Kept(place=replace(A_PLACE, trial=1), reading=a_reading(0.40))
    so_far = SoFar(
        kept={(1, 1): first},
        done=[(1, 1)],
        rounds={},
        attempts={},
        decisions=[],
        grows_pressed=True,
    )
    (step,) = procedure.deeds(replace(A_PLACE, trial=2), so_far)
    assert isinstance(step, StepAndRead)
    assert step.shows_mm == pytest.approx(0.40 - (TARGETS_MM[1] - TARGETS_MM[0]))
    assert step.coming_from == "below"


def test_what_moves_next_is_what_moves():
    """Between readings the head does not lift: it goes on, perhaps downward."""
    bench = Bench(axis_test(), file_for("workshop-220"))
    bench.carry_out()
    asked = [each for each in bench.prompts if not isinstance(each.deed, ClearBed)]
    assert {each.moves_next for each in asked} == {
        "The head goes up or down to the next height; at the end it lifts."
    }
    (first,) = (each for each in bench.prompts if isinstance(each.deed, ClearBed))
    assert "as low as z 1.9 mm" in first.detail


@pytest.mark.parametrize(
    ("study", "deed", "why"),
    [
        (axis_test(), STEP, None),
        (axis_test(), replace(STEP, above_mm=-3.5), "steps to -3.5 mm, which is no target"),
        (axis_test(), replace(STEP, overrun_mm=1.0), "an overrun of 1 mm, which is not"),
        (axis_test(), replace(STEP, point="moon"), "goes to 'moon', which is no point"),
        (two_gauges(), STEP, "steps to -2.9 mm, which is no target"),
        (two_gauges(), BringAndRead(point="front-left", second=True), None),
        (axis_test(), BringAndRead(point="front-left", second=True), "reads a second gauge"),
    ],
)
def test_steps_to_targets_of_the_study_alone_and_gauges_that_it_has(study, deed, why):
    rules = Rules(
        study=study,
        machine=file_for("workshop-tri"),
        words=words_of(study.kind),
        gauge_is_typed=True,
    )
    faults = list(rules.faults_among((deed,), replace(A_PLACE, method="axis-test")))
    assert len(faults) == (why is not None)
    assert why is None or why in faults[0]
