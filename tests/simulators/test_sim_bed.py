"""Beds as built: tilt, screws and their play, plates, axes that are not straight, turns amiss."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hostctl_simulators.bed.screws import Direction, Screw, ScrewKind
from hostctl_simulators.people.people import People, Question
from hostctl_simulators.physical.bench_faults import BenchFaults
from hostctl_simulators.physical.build import Build
from hostctl_simulators.physical.printers import WORKSHOP_220, WORKSHOP_TRI
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.world import World
from hostctl_simulators.simulated_printer import Description

from hostctl.deeds import SetGap, TurnScrew

STILL = replace(
    WORKSHOP_220,
    z_return_mm=0.0,
    indicator=replace(WORKSHOP_220.indicator, play_mm=0.0, hysteresis_mm=0.0),
)
BOTH: list[Direction] = ["clockwise", "anticlockwise"]


def built(kind=WORKSHOP_220, seed=7, *, faults: BenchFaults | None = None, **build) -> World:
    return World(kind, seed, faults=faults, build=Build(**build))


def asked(world: World, screw: str, turn_deg: float, direction: Direction | None) -> None:
    deed = TurnScrew(screw=screw, turn_deg=turn_deg, direction=direction)
    prompt_id = f"{world.turning.asked}"
    People(world).answer(Question(prompt_id=prompt_id, deed=deed, operator="volunteer-a"))


def moved_mm(world: World, deed: Callable[[], None]) -> dict[str, float]:
    """What each screw's height became less what it was, those that moved."""
    before = dict(world.bed.heights_mm)
    deed()
    after = world.bed.heights_mm
    return {name: after[name] - before[name] for name in after if after[name] != before[name]}


# ------------------------------------------------------------------ as delivered


@pytest.mark.parametrize("screws", [3, 4, 5, 6])
def test_a_tilted_bed_is_a_plane_and_as_steep_as_asked(screws):
    for seed in range(20):
        bed = built(seed=seed, screws=screws, tilt_mm=2.0).bed
        heights = np.array(list(bed.heights_mm.values()))
        assert heights.max() - heights.min() == pytest.approx(2.0)
        assert heights.mean() == pytest.approx(-0.2)
        places = np.array([(1.0, s.kind.x_mm, s.kind.y_mm) for s in bed.screws.values()])
        plane = np.linalg.lstsq(places, heights, rcond=None)[0]
        assert places @ plane == pytest.approx(heights)


def test_beds_of_other_seeds_tilt_elsewhere():
    lowest = {
        min(bed.heights_mm, key=bed.heights_mm.get)
        for bed in (built(seed=seed, tilt_mm=1.0).bed for seed in range(30))
    }
    assert lowest == {"front-left", "front-right", "back-left", "back-right"}


def test_a_plate_may_be_bowed_and_twisted_besides():
    plain, warped = built().bed, built(bow_mm=0.2, twist_mm=0.1).bed

    def more_mm(x_mm: float, y_mm: float) -> float:
        return warped.height_mm(x_mm, y_mm) - plain.height_mm(x_mm, y_mm)

    assert more_mm(110, 110) == pytest.approx(0.2)
    assert more_mm(30, 30) - more_mm(190, 30) == pytest.approx(0.1)
    assert more_mm(30, 30) == pytest.approx(more_mm(190, 190))


def test_noise_multiplies_all_scatter():
    noisy = built(WORKSHOP_TRI, noise=3.0)
    assert noisy.truth.rig_sigma_mm == pytest.approx(3 * World(WORKSHOP_TRI, 7).truth.rig_sigma_mm)
    assert noisy.truth.probe_sigma_mm == pytest.approx(0.012)


# ------------------------------------------------------------------ screws and plates


@pytest.mark.parametrize("raises", BOTH)
@pytest.mark.parametrize("screws", [3, 4, 5, 6])
def test_right_above_a_screw_a_soft_plate_follows_it_whichever_its_thread(screws, raises):
    for name in built(screws=screws).screw_names():
        world = built(screws=screws, raises=raises)
        screw = world.bed.screws[name].kind
        before = world.bed.height_mm(screw.x_mm, screw.y_mm)
        world.turn_screw(name, 180, raises)
        assert world.bed.height_mm(screw.x_mm, screw.y_mm) - before == pytest.approx(0.35)


@pytest.mark.parametrize("screws", [3, 4, 5, 6])
@pytest.mark.parametrize("stiff", [0, 1])
def test_all_screws_turned_alike_raise_the_whole_bed_alike(screws, stiff):
    world = built(screws=screws, stiff_plate=stiff)
    places = [(30, 30), (77, 203), (110, 110), (215, 5)]
    before = [world.bed.height_mm(*place) for place in places]
    for name in world.screw_names():
        world.turn_screw(name, 90, "clockwise")
    rise = [world.bed.height_mm(*place) - was for place, was in zip(places, before, strict=True)]
    assert rise == pytest.approx([0.175] * 4)


@pytest.mark.parametrize("screws", [3, 4, 5, 6])
def test_a_stiff_plate_lies_as_least_squares_have_it(screws):
    """Oracle: numpy's least squares. Equal springs under a rigid plate are least of all strained
    in that plane (statics; Hooke's law)."""
    bed = built(screws=screws, stiff_plate=1).bed
    bed.turn("front-left", 300, "clockwise")
    places = np.array([(1.0, s.kind.x_mm, s.kind.y_mm) for s in bed.screws.values()])
    plane = np.linalg.lstsq(places, np.array(list(bed.heights_mm.values())), rcond=None)[0]
    flat = replace(bed.kind, bow_mm=0.0)
    assert flat.stiff
    for x_mm, y_mm in [(30, 30), (77, 203), (150, 60)]:
        shares = bed.shares(x_mm, y_mm)
        lies_mm = sum(share * bed.heights_mm[name] for name, share in shares.items())
        assert lies_mm == pytest.approx(plane @ [1.0, x_mm, y_mm])


@pytest.mark.parametrize("raises", BOTH)
def test_play_is_taken_up_where_the_direction_changes_and_only_there(raises):
    lowers = BOTH[1 - BOTH.index(raises)]
    kind = ScrewKind(name="one", x_mm=0, y_mm=0, raises=raises, play_deg=20.0)
    screw = Screw(kind, 0.0)
    ways = []
    for degrees, direction in [
        (90, raises),
        (90, lowers),
        (90, lowers),
        (10, raises),
        (30, raises),
    ]:
        before = screw.height_mm
        screw.turn(degrees, direction)
        ways.append((screw.height_mm - before) / 0.7 * 360)
    assert ways == pytest.approx([90, -70, -90, 0, 20])


def test_a_screw_goes_no_further_than_its_ends():
    screw = Screw(ScrewKind(name="one", x_mm=0, y_mm=0, travel_mm=1.0), -0.2)
    screw.turn(720, "clockwise")
    assert (screw.height_mm, screw.can_raise_mm) == pytest.approx((0.8, 0.0))
    screw.turn(3600, "anticlockwise")
    assert (screw.height_mm, screw.can_lower_mm) == pytest.approx((-1.2, 0.0))
    screw.turn(360, "clockwise")
    assert screw.height_mm == pytest.approx(-0.5)


# ------------------------------------------------------------------ hands at the screws


@pytest.mark.parametrize("direction", BOTH)
@pytest.mark.parametrize("turn_deg", [1.0, 47.5, 720.0])
def test_people_turn_a_screw_as_they_are_asked(direction, turn_deg):
    world = built(raises="anticlockwise")
    rise_mm = turn_deg / 360 * 0.7 * (1 if direction == "anticlockwise" else -1)
    moved = moved_mm(world, lambda: asked(world, "back-left", turn_deg, direction))
    assert moved == pytest.approx({"back-left": rise_mm})


@pytest.mark.parametrize("raises", BOTH)
def test_told_no_direction_they_turn_whichever_way_lowers_the_bed(raises):
    world = built(raises=raises)
    moved = moved_mm(world, lambda: asked(world, "back-left", 36, None))
    assert moved == pytest.approx({"back-left": -0.07})


@pytest.mark.parametrize("raises", BOTH)
def test_a_gap_is_set_whichever_way_the_screw_raises_the_bed_and_through_its_play(raises):
    world = built(raises=raises, play_deg=15.0, screws=6)
    for z_mm in (12.0, 0.0):
        world.move_head(Spot(x_mm=30.0, y_mm=30.0, z_mm=z_mm))
    deed = SetGap(method="contact-light")
    People(world).answer(Question(prompt_id="1", deed=deed, operator="volunteer-a"))
    assert world.gap_mm() == pytest.approx(0.02, abs=0.025)


@pytest.mark.parametrize(
    ("fault", "moved"),
    [
        ({"wrong_way_at_turn": 2}, {"front-left": -0.07}),
        ({"wrong_screw_at_turn": 2}, {"front-right": 0.07}),
        ({"no_turn_at_turn": 2}, {}),
        ({"turned_too_far": 0.1}, {"front-left": 0.077}),
        ({}, {"front-left": 0.07}),
    ],
)
def test_what_goes_wrong_with_a_turn_goes_wrong_at_that_turn(fault, moved):
    world = built(faults=BenchFaults(**fault))
    asked(world, "back-right", 36, "clockwise")
    found = moved_mm(world, lambda: asked(world, "front-left", 36, "clockwise"))
    assert found == pytest.approx(moved)
    if "turned_too_far" not in fault:
        again = moved_mm(world, lambda: asked(world, "front-left", 36, "clockwise"))
        assert again == pytest.approx({"front-left": 0.07})


def test_uneven_turns_scatter_as_told():
    world = built(faults=BenchFaults(turned_unevenly_deg=5.0))
    heights = [world.bed.heights_mm["back-left"]]
    for turn in range(400):
        asked(world, "back-left", 90, BOTH[turn % 2])
        heights.append(world.bed.heights_mm["back-left"])
    off = np.abs(np.diff(heights)) / 0.7 * 360 - 90
    assert np.std(off) == pytest.approx(5.0, rel=0.15)


# ------------------------------------------------------------------ axes that are not straight


def shown_mm(world: World, x_mm: float, z_mm: float, *, before_z_mm: float = 9.0) -> float:
    """What the indicator shows with the nozzle there, unrounded."""
    assert world.indicator is not None
    for at in (
        Spot(x_mm=world.head.x_mm, y_mm=110.0, z_mm=12.0),
        Spot(x_mm=x_mm, y_mm=110.0, z_mm=12.0),
        Spot(x_mm=x_mm, y_mm=110.0, z_mm=before_z_mm),
        Spot(x_mm=x_mm, y_mm=110.0, z_mm=z_mm),
    ):
        world.move_head(at)
    return world.indicator.shown_mm


def test_a_bowed_guide_shows_as_a_bed_that_is_hollow():
    straight, bowed = built(STILL), built(STILL, guide_bow_mm=0.05)
    for x_mm, higher_mm in [(110, 0.05), (110 - 220 / 3, 0.025)]:
        less_mm = shown_mm(straight, x_mm, 4.0) - shown_mm(bowed, x_mm, 4.0)
        assert less_mm == pytest.approx(higher_mm)


def test_a_lead_error_comes_once_a_turn_of_the_screw():
    true, wavy = built(STILL), built(STILL, lead_error_mm=0.01)
    for z_mm, higher_mm in [(2.0, 0.01), (4.0, 0.0), (3.0, 0.01 * np.sqrt(0.5))]:
        less_mm = shown_mm(true, 100, z_mm) - shown_mm(wavy, 100, z_mm)
        assert less_mm == pytest.approx(higher_mm, abs=1e-9)


def test_play_of_the_z_screw_shows_as_reversal():
    world = built(STILL, z_play_mm=0.03)
    from_above_mm = shown_mm(world, 100, 4.0)
    from_below_mm = shown_mm(world, 100, 4.0, before_z_mm=3.5)
    assert from_below_mm - from_above_mm == pytest.approx(0.03)


def test_the_probe_goes_with_the_guides_too():
    straight = built(WORKSHOP_TRI)
    bowed = built(WORKSHOP_TRI, guide_bow_mm=0.05)
    assert straight.touch(150, 150) - bowed.touch(150, 150) == pytest.approx(0.05)


# ------------------------------------------------------------------ by url


def test_how_it_is_built_stands_in_its_url():
    url = "sim://workshop-220?tilt_mm=1.2&screws=5&raises=anticlockwise&turned_too_far=0.1"
    asked_for = Description.parse(url)
    assert asked_for.build == Build(tilt_mm=1.2, screws=5, raises="anticlockwise")
    assert asked_for.bench_faults == BenchFaults(turned_too_far=0.1)


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("raises=up", "'raises' is one of clockwise, anticlockwise, not 'up'"),
        ("screws=7", "'screws' is 3 to 6, or 0"),
        ("tilt_mm=-1", "are at least 0"),
        ("pitch_mm=0", "'pitch_mm' is above 0"),
        ("tilt_mm=steep", "'tilt_mm' takes a number, not 'steep'"),
    ],
)
def test_a_build_that_can_not_be_is_refused(query, said):
    with pytest.raises(ValueError, match=said):
        Description.parse(f"sim://workshop-220?{query}")
