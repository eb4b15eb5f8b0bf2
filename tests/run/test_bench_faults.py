"""What goes wrong at door, probe and mains in a run on the simulated printer: noticed, said, safe,
gone on with, nothing lost."""

import pytest
from test_simulated_printer import Bench, file_for
from workshop import probe_loop, rig_check

from hostctl.config.machine import Machine, Probe
from hostctl.config.parts.gauge import Gauge
from hostctl.config.parts.outputs import Door, InputReads

FREE = InputReads(input="probe", reads="open")
POINTS = ["front-left", "back"]
TRIALS = 4


def tri(**faults: object) -> Machine:
    """With a door, and a probe that says whether it is free."""
    probe = Probe(offset_y_mm=20.0, free_when=FREE)
    parts = {"probe": probe, "door": Door(input="door")}
    return file_for("workshop-tri", **faults).model_copy(update=parts)


def probing(**faults: object) -> Bench:
    return Bench(probe_loop(points=POINTS, trials=TRIALS), tri(**faults))


def commands_of_a_quiet_run() -> int:
    bench = probing()
    assert bench.carry_out().complete
    assert bench.holds == []
    return len(bench.printer.board.obeyed)


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ({"probe_stuck_at_touch": 5}, "the probe is triggered though it touches nothing"),
        ({"probe_blind_at_touch": 5}, "gave no height: no touch: the probe did not trigger"),
    ],
)
def test_a_probe_at_fault_holds_the_run_with_the_head_up_and_it_goes_on(fault, said):
    bench = probing(**fault)
    heights: list[float] = []
    bench.on_prompt = lambda prompt: heights.append(bench.printer.world.head.z_mm)
    assert bench.carry_out().complete
    assert len(bench.holds) == 1
    assert said in bench.holds[0]
    assert min(heights) >= 5.0
    assert len(bench.store.counting) == len(POINTS) * TRIALS
    assert bench.printer.world.crashes == []


def test_a_door_that_is_opened_holds_the_run_and_costs_no_homing():
    at = commands_of_a_quiet_run() // 2
    bench = probing(door_opened_at_command=at)
    assert bench.carry_out().complete
    assert len(bench.holds) == 1
    assert "the door is open" in bench.holds[0]
    homings = [each for each in bench.printer.board.obeyed if each.text == "G28"]
    assert len(homings) == 1
    assert len(bench.store.counting) == len(POINTS) * TRIALS
    assert bench.printer.world.crashes == []


def test_a_door_opened_beside_an_indicator_holds_too():
    plain = Bench(rig_check(points=["front-left"], trials=3), file_for("workshop-220"))
    assert plain.carry_out().complete
    at = len(plain.printer.board.obeyed) // 2
    file = file_for("workshop-220", door_opened_at_command=at)
    with_door = file.model_copy(update={"door": Door(input="door")})
    bench = Bench(rig_check(points=["front-left"], trials=3), with_door)
    assert bench.carry_out().complete
    assert ["the door is open" in reason for reason in bench.holds] == [True]
    assert len([each for each in bench.printer.board.obeyed if each.text == "G28"]) == 1


def test_after_a_power_cut_it_homes_anew_and_nothing_is_lost():
    at = commands_of_a_quiet_run() // 2
    bench = probing(power_cut_at_command=at)
    assert bench.carry_out().complete
    assert bench.printer.counts.power_cuts == 1
    assert len(bench.holds) == 1
    assert len(bench.store.counting) == len(POINTS) * TRIALS
    assert bench.printer.world.crashes == []
    assert bench.printer.board.carriage.boot == 2


@pytest.mark.parametrize(
    ("tilt_mm", "deepest_z_mm", "said"),
    [
        (7.0, -5.0, "gave no height: no touch: the bed is out of the probe's reach"),
        (3.0, -0.2, "deeper than allowed"),
    ],
)
def test_a_bed_out_of_reach_is_said_and_people_who_can_not_mend_it_end_the_run(
    tilt_mm, deepest_z_mm, said
):
    """At one of its points it lies too low, whichever way it tilts."""
    file = tri(tilt_mm=tilt_mm)
    probe = Probe(offset_y_mm=20.0, deepest_z_mm=deepest_z_mm)
    points = [point.name for point in file.points]
    study = probe_loop(points=points, trials=TRIALS, gauge=Gauge(kind="probe", plausible_mm=9.0))
    bench = Bench(study, file.model_copy(update={"probe": probe}))
    assert not bench.carry_out().complete
    assert all(said in reason for reason in bench.holds)
    assert len(bench.holds) > 3
    assert bench.printer.world.head.z_mm >= 5.0
