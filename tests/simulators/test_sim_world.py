"""The physical side: bed, screws, indicator, probe, crashes; and that the truth given is so."""

from dataclasses import replace
from statistics import pstdev, stdev

import pytest
from hostctl_simulators.bed.heater import BED, Heater
from hostctl_simulators.physical.indicator import Indicator
from hostctl_simulators.physical.mishaps import Mishap
from hostctl_simulators.physical.printers import INDICATOR, WORKSHOP_220, WORKSHOP_TRI
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.world import World


def at(x_mm: float, y_mm: float, z_mm: float) -> Spot:
    return Spot(x_mm=x_mm, y_mm=y_mm, z_mm=z_mm)


@pytest.fixture
def world() -> World:
    return World(WORKSHOP_220, 7)


@pytest.mark.parametrize(("turn_deg", "rise_mm"), [(360, 0.7), (90, 0.175)])  # M4 coarse, ISO 261
@pytest.mark.parametrize("kind", [WORKSHOP_220, WORKSHOP_TRI], ids=lambda kind: kind.name)
def test_a_clockwise_turn_raises_the_bed_at_its_screw_by_its_pitch(kind, turn_deg, rise_mm):
    world = World(kind, 7)
    turned, other = kind.bed.screws[0], kind.bed.screws[1]
    here = world.bed.height_mm(turned.x_mm, turned.y_mm)
    there = world.bed.height_mm(other.x_mm, other.y_mm)
    world.turn_screw(turned.name, turn_deg, "clockwise")
    assert world.bed.height_mm(turned.x_mm, turned.y_mm) - here == pytest.approx(rise_mm)
    assert world.bed.height_mm(other.x_mm, other.y_mm) == pytest.approx(there)


def test_three_screws_carry_a_plane_and_four_can_twist_the_plate():
    three, four = World(WORKSHOP_TRI, 7).bed, World(WORKSHOP_220, 7).bed
    assert sum(three.shares(77, 203).values()) == pytest.approx(1)
    assert four.shares(110, 110) == pytest.approx(dict.fromkeys(four.heights_mm, 0.25))


def test_the_bed_as_delivered_lies_below_the_nozzle_at_zero():
    for seed in range(50):
        bed = World(WORKSHOP_220, seed).bed
        assert max(bed.heights_mm.values()) < -0.05


def test_the_dial_reads_what_the_bed_rose_by_to_the_nearest_graduation(world):
    world.move_head(at(165, 30, 12))
    world.move_head(at(165, 30, 5))  # plunger over front-right
    world.zero_indicator()
    world.turn_screw("front-right", 36, "clockwise")  # 0.07 mm
    assert world.read_indicator() == 0.07


def test_looking_twice_reads_the_same_and_coming_down_again_plays():
    indicator = Indicator(replace(INDICATOR, hysteresis_mm=0.0), 7)
    pointers = []
    for _ in range(2000):
        indicator.press(0.0)
        indicator.press(0.5)
        assert indicator.shown_mm == indicator.shown_mm
        pointers.append(indicator.shown_mm)
    assert indicator.lowerings == 2000
    assert stdev(pointers) == pytest.approx(INDICATOR.play_mm, rel=0.05)


def test_running_in_and_running_out_differ_by_the_hysteresis():
    indicator = Indicator(replace(INDICATOR, play_mm=0.0), 7)
    indicator.press(0.4)
    indicator.press(0.5)
    ran_in_mm = indicator.shown_mm
    indicator.press(0.6)
    indicator.press(0.5)
    assert indicator.shown_mm - ran_in_mm == pytest.approx(INDICATOR.hysteresis_mm)


def test_the_rig_scatters_as_the_truth_says():
    world = World(WORKSHOP_220, 11)
    assert world.indicator is not None
    pointers = []
    for _ in range(2000):
        world.move_head(at(165, 30, 12))
        world.move_head(at(165, 30, 5))
        pointers.append(world.indicator.shown_mm)
    assert pstdev(pointers) == pytest.approx(world.truth.rig_sigma_mm, rel=0.05)


def test_the_probe_scatters_as_the_truth_says():
    world = World(WORKSHOP_TRI, 11)
    touches = [world.touch(40, 40) for _ in range(2000)]
    assert pstdev(touches) == pytest.approx(world.truth.probe_sigma_mm, rel=0.05)


def test_the_bed_moves_with_its_soaked_heat():
    now_s = 0.0
    world = World(WORKSHOP_220, 7, lambda: now_s)
    cold_mm = world.bed.height_mm(110, 110)
    world.bed_heater.target_c = 60.0
    now_s = 120.0
    world.warm()
    early_mm = world.bed.height_mm(110, 110) - cold_mm
    now_s = 4000.0
    world.warm()
    late_mm = world.bed.height_mm(110, 110) - cold_mm
    assert 0 < early_mm < late_mm
    assert late_mm == pytest.approx(0.0012 * (60 - 21), rel=0.01)


def test_a_heater_holds_its_target_and_cools_towards_the_room():
    heater = Heater(BED)
    heater.target_c = 60
    heater.pass_time(50)
    assert heater.now_c == pytest.approx(41)
    heater.pass_time(1000)
    assert heater.now_c == 60
    heater.target_c = 0
    heater.pass_time(1000 + 420)
    assert heater.now_c == pytest.approx(21 + 39 / 2.718281828, abs=0.01)


@pytest.mark.parametrize(
    ("path", "what"),
    [
        ([at(100, 100, 12), at(100, 100, -1)], Mishap.NOZZLE_INTO_BED),
        ([at(100, 100, 12), at(100, 100, 5), at(120, 100, 5)], Mishap.PLUNGER_ACROSS_BED),
        ([at(100, 100, 12), at(100, 100, 0), at(120, 100, 0)], Mishap.NOZZLE_ACROSS_BED),
        ([at(100, 100, 12), at(240, 100, 12)], Mishap.AGAINST_FRAME),
    ],
)
def test_a_crash_is_counted(world, path, what):
    for spot in path:
        world.move_head(spot)
    assert [crash.what for crash in world.crashes] == [what]


def test_a_careful_cycle_counts_no_crash(world):
    for x_mm in (30, 190):
        world.move_head(at(world.head.x_mm, world.head.y_mm, 12))
        world.move_head(at(x_mm, 30, 12))
        world.move_head(at(x_mm, 30, 0))
        world.move_head(at(x_mm, 30, 12))
        world.move_head(at(x_mm - 25, 30, 12))
        world.move_head(at(x_mm - 25, 30, 5))
    assert world.crashes == []


def test_a_screw_turned_up_under_the_nozzle_is_a_crash(world):
    world.move_head(at(30, 30, 12))
    world.move_head(at(30, 30, 0))
    world.turn_screw("front-left", 360, "clockwise")
    assert [crash.what for crash in world.crashes] == [Mishap.NOZZLE_INTO_BED]


def test_the_same_seed_is_the_same_world_and_another_seed_another():
    assert World(WORKSHOP_220, 7).bed.heights_mm == World(WORKSHOP_220, 7).bed.heights_mm
    assert World(WORKSHOP_220, 7).bed.heights_mm != World(WORKSHOP_220, 8).bed.heights_mm
