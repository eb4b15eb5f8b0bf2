"""Nozzle, plate and plunger: contact, what a tie finds, what spoils it; the truth given is so."""

from statistics import mean, stdev

import pytest
from at_the_bench import (
    CLEAR_Z_MM,
    POINT,
    READING_Z_MM,
    SET_Z_MM,
    go,
    lay_plate,
    shown_pressed_mm,
    step_down,
    tie_mm,
)
from hostctl_simulators.people.people import People, Question
from hostctl_simulators.physical.bench_faults import BenchFaults
from hostctl_simulators.physical.mishaps import Mishap
from hostctl_simulators.physical.printers import WORKSHOP_220, WORKSHOP_TRI
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.world import World
from hypothesis import given, settings
from hypothesis import strategies as st

from hostctl.deeds import SetGap

PLAIN = BenchFaults()
RIGS = {
    "plain": PLAIN,
    "sprung": BenchFaults(springs_n_per_mm=20.0),
    "falls": BenchFaults(indicator_falls=1),
    "all": BenchFaults(
        indicator_falls=1, springs_n_per_mm=8.0, spoiled_at_lowering=1, knocked_mm=0.03
    ),
}


def world_with(seed: int = 7, **faults: float) -> World:
    return World(WORKSHOP_220, seed, faults=BenchFaults(**faults))


def truth_mm(world: World) -> float:
    return world.truth.tie_constant_mm(POINT, set_z_mm=SET_Z_MM, reading_z_mm=READING_Z_MM)


# ------------------------------------------------------------ where it touches


@given(
    seed=st.integers(0, 10_000),
    plate_mm=st.floats(0.1, 2.0),
    step_mm=st.sampled_from([0.0025, 0.01, 0.05]),
    residue_mm=st.floats(0.0, 0.04),
    insulates=st.booleans(),
    springs_n_per_mm=st.sampled_from([0.0, 5.0, 40.0]),
)
@settings(max_examples=40, deadline=None)
def test_a_nozzle_that_stops_at_contact_is_pressed_in_by_less_than_its_step_and_the_crumb(
    seed, plate_mm, step_mm, residue_mm, insulates, springs_n_per_mm
):
    world = World(
        WORKSHOP_220,
        seed,
        faults=BenchFaults(
            residue_mm=residue_mm,
            residue_insulates=int(insulates),
            springs_n_per_mm=springs_n_per_mm,
        ),
    )
    lay_plate(world, plate_mm)
    assert step_down(world, from_z_mm=plate_mm, step_mm=step_mm) is not None
    early_mm = -residue_mm if insulates else residue_mm
    deep_mm = -world.gap_mm()
    assert -early_mm - 1e-9 <= deep_mm <= step_mm - early_mm + 1e-9
    assert world.lookout.deepest_mm == pytest.approx(max(deep_mm, 0.0))


def test_a_bare_bed_tells_of_contact_too_and_the_air_beside_it_never():
    world = world_with()
    go(world, *POINT, 1.0)
    assert step_down(world, from_z_mm=0.1, step_mm=0.01) is not None
    go(world, 0.0, 0.0, -1.0)
    assert not world.contact_closed()


def test_the_plate_lies_under_the_nozzle_and_the_plunger_reads_its_top_there():
    bare, plated = world_with(), world_with()
    lay_plate(plated, 0.5)
    assert shown_pressed_mm(plated) - shown_pressed_mm(bare) == pytest.approx(0.5)
    go(plated, *POINT, 1.0)
    go(bare, *POINT, 1.0)
    assert bare.gap_mm() - plated.gap_mm() == pytest.approx(0.5)
    # the plunger, beside the plate while the nozzle is over it, is on the bed
    assert plated.tips.pressed_mm(plated.head) == bare.tips.pressed_mm(bare.head)


def test_a_plate_taken_away_lies_no_more():
    world = world_with()
    lay_plate(world, 0.5)
    before_mm = world.gap_mm()
    world.clear_away()
    assert world.gap_mm() - before_mm == pytest.approx(0.5)


# ------------------------------------------------------------ what a crash is


def test_a_nozzle_driven_into_the_plate_is_a_crash_as_one_into_the_bed_is():
    world = world_with()
    lay_plate(world, 3.0)
    go(world, *POINT, 2.5)
    assert [crash.what for crash in world.crashes] == [Mishap.NOZZLE_INTO_BED]
    assert world.lookout.deepest_mm == pytest.approx(-world.gap_mm())


def test_a_nozzle_dragged_over_the_plate_is_a_crash():
    world = world_with()
    lay_plate(world, 3.0)
    low_mm = 3.0 + world.bed.height_mm(*POINT) + 0.2
    go(world, *POINT, low_mm)
    assert world.crashes == []
    world.move_head(Spot(x_mm=POINT[0] + 8, y_mm=POINT[1], z_mm=low_mm))
    assert [crash.what for crash in world.crashes] == [Mishap.NOZZLE_ACROSS_BED]


@pytest.mark.parametrize("laid", ["lay_under_nozzle", "lay_block", "clip_lead"])
def test_homing_with_things_in_is_a_crash_and_none_once_they_are_out(console, laid):
    talk = console()
    given = () if laid == "clip_lead" else (0.5,)
    getattr(talk.printer.world, laid)(*given)
    talk.home()
    assert [crash.what for crash in talk.printer.world.crashes] == [Mishap.HOMED_WITH_THINGS_IN]
    talk.printer.world.clear_away()
    talk.do("G28")
    assert len(talk.printer.world.crashes) == 1


# ------------------------------------------------------------ a bed on springs


def test_the_bed_under_the_plunger_sinks_less_than_the_nozzle_presses():
    sprung = world_with(springs_n_per_mm=10.0)
    go(sprung, *POINT, 0.5)
    free_mm = sprung.tips.pressed_mm(sprung.head)
    deep_mm = 0.04
    lower = Spot(x_mm=POINT[0], y_mm=POINT[1], z_mm=sprung.head.z_mm - sprung.gap_mm() - deep_mm)
    sprung.move_head(lower)
    moved_mm = 0.5 - lower.z_mm
    sunk_mm = free_mm + moved_mm - sprung.tips.pressed_mm(sprung.head)
    assert 0 < sunk_mm < deep_mm


def test_the_plunger_pushes_a_sprung_bed_down_by_its_force_over_the_stiffness():
    rigid, sprung = world_with(), world_with(springs_n_per_mm=10.0)
    less_mm = shown_pressed_mm(rigid) - shown_pressed_mm(sprung)
    # over a screw all of the force is on that screw's spring: 0.8 N / 10 N/mm
    assert less_mm == pytest.approx(0.08)


@pytest.mark.parametrize("overlap_mm", [0.02, 0.04, 0.2])
def test_a_plunger_that_comes_down_on_a_soft_bed_pushes_it_before_it_yields(overlap_mm):
    world = world_with(springs_n_per_mm=10.0)
    assert world.indicator is not None
    kind = world.indicator.kind
    top_mm = world.bed.height_mm(*POINT)
    x_mm, y_mm = POINT[0] - kind.offset_x_mm, POINT[1] - kind.offset_y_mm
    at = Spot(x_mm=x_mm, y_mm=y_mm, z_mm=top_mm + kind.hangs_mm - overlap_mm)
    assert world.tips.pressed_mm(at) == pytest.approx(max(0.0, overlap_mm - 0.08))


# ------------------------------------------------------------ what a tie finds


@pytest.mark.parametrize(
    ("kind", "rig"), [*((WORKSHOP_220, rig) for rig in RIGS.values()), (WORKSHOP_TRI, PLAIN)]
)
def test_ties_by_touch_scatter_about_the_constant_as_the_truth_says(kind, rig):
    world = World(kind, 5, faults=rig)
    shown_pressed_mm(world)  # what is spoiled from the beginning is spoiled now
    lay_plate(world, 0.5)
    ties = [tie_mm(world) for _ in range(100)]
    sigma_mm = world.truth.tie_sigma_mm
    assert mean(ties) == pytest.approx(truth_mm(world), abs=4 * sigma_mm / 100**0.5)
    assert stdev(ties) == pytest.approx(sigma_mm, rel=0.3)


@pytest.mark.parametrize("rig", RIGS.values(), ids=RIGS)
@pytest.mark.parametrize("operator", ["volunteer-a", "volunteer-b"])
def test_what_the_tie_makes_of_readings_is_the_mean_gap_that_the_truth_says(rig, operator):
    world, gaps = World(WORKSHOP_220, 5, faults=rig), []
    shown_pressed_mm(world)
    people, deed = People(world), SetGap(method="paper-slip")
    for number in range(150):
        go(world, *POINT, SET_Z_MM)
        people.answer(Question(prompt_id=f"p{number}", deed=deed, operator=operator))
        gaps.append(truth_mm(world) - shown_pressed_mm(world))
    true_mm = world.truth.mean_gap_mm("paper-slip", operator)
    scatter_mm = world.truth.sigma_mm("paper-slip", operator) + world.truth.rig_sigma_mm
    assert mean(gaps) == pytest.approx(true_mm, abs=4 * scatter_mm / 150**0.5)


def test_homing_anew_does_not_change_the_constant(console):
    """Nozzle and plunger are moved alike."""
    talk = console()
    world = talk.printer.world
    found = []
    for _ in range(40):
        talk.home()
        talk.do("G1 X30 Y30 F6000")
        talk.do("G1 Z1 F600")
        origin_mm = talk.printer.board.carriage.origin.z_mm
        # 1 mm above the machine's zero, wherever that was found
        gap_mm = world.gap_mm()
        talk.do("G1 Z15 F600")
        talk.do("G1 X5 Y30 F6000")
        talk.do("G1 Z5 F600")
        found.append((gap_mm + world.indicator.shown_mm - 1.0, origin_mm))
    constants, origins = zip(*found, strict=True)
    assert stdev(origins) == pytest.approx(WORKSHOP_220.home_z_mm, rel=0.4)
    assert mean(constants) == pytest.approx(
        truth_mm(world), abs=4 * world.truth.tie_sigma_mm / 40**0.5
    )


# ------------------------------------------------------------ what spoils a tie


SPOILT = {
    "turn_bezel": ("bezel_turned_mm", 0.05),
    "knock_indicator": ("knocked_mm", 0.05),
    "change_nozzle": ("nozzle_longer_mm", -0.05),
    "warm_room": ("warmed_k", 20.0),
}


@pytest.mark.parametrize("deed", SPOILT)
def test_a_deed_and_its_key_spoil_the_tie_alike_and_a_tie_made_anew_finds_it(deed):
    key, amount = SPOILT[deed]
    by_hand, by_key = world_with(), world_with(spoiled_at_lowering=3, **{key: amount})
    before_mm = truth_mm(by_hand)
    for world in (by_hand, by_key):
        for _ in range(3):
            shown_pressed_mm(world)
    getattr(by_hand, deed)(amount)
    after_mm = truth_mm(by_hand)
    assert after_mm == pytest.approx(truth_mm(by_key))
    wanted_mm = 20 * 0.0012 if deed == "warm_room" else 0.05
    assert after_mm - before_mm == pytest.approx(wanted_mm)
    lay_plate(by_hand, 0.5)
    ties = [tie_mm(by_hand) for _ in range(40)]
    assert mean(ties) == pytest.approx(after_mm, abs=4 * by_hand.truth.tie_sigma_mm / 40**0.5)


def test_a_tie_spoiled_by_key_is_whole_until_its_lowering():
    world, whole = world_with(spoiled_at_lowering=3, knocked_mm=0.05), world_with()
    shifts = []
    for _ in range(5):
        shifts.append(shown_pressed_mm(world) - shown_pressed_mm(whole))
    assert shifts == pytest.approx([0, 0, 0.05, 0.05, 0.05])


def test_a_warmer_room_is_told_by_the_bed_at_rest():
    world = world_with()
    world.warm_room(6.0)
    assert world.bed_heater.now_c == pytest.approx(27.0)
    assert world.bed.soaked_c == pytest.approx(27.0)
    assert world.head.z_mm > CLEAR_Z_MM - 5  # nothing moved for it
