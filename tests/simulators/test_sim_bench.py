"""A bare machine, an indicator on and off its head, and what hands and eyes find there."""

import asyncio
from pathlib import Path

import pytest
from hostctl_simulators.board.wording import WORDINGS
from hostctl_simulators.people.at_the_bench import COMMANDS, NotUnderstood, done_at, help_text
from hostctl_simulators.people.bench import Bench
from hostctl_simulators.people.hands import serve_hands
from hostctl_simulators.people.remote_bench import RemoteBench
from hostctl_simulators.physical.mishaps import Mishap
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.world import World
from hostctl_simulators.simulated_printer import Description, SimulatedPrinter


def world_of(query: str, name: str = "workshop-220") -> World:
    return SimulatedPrinter(Description.parse(f"sim://{name}?{query}")).world


def at(x_mm: float, y_mm: float, z_mm: float) -> Spot:
    return Spot(x_mm=x_mm, y_mm=y_mm, z_mm=z_mm)


def test_an_indicator_in_its_box_shows_presses_and_hits_nothing():
    world = world_of("unmounted=1&hangs_mm=8&room_left_mm=0&offset_x_mm=-20")
    bench = Bench(world)
    with pytest.raises(LookupError, match="carries no dial indicator now"):
        bench.shows()
    world.move_head(at(110, 110, 2))  # a plunger would be pressed in, and slide
    world.move_head(at(0, 0, 12))  # an indicator would meet the frame
    assert world.crashes == []
    world.move_head(at(110, 110, 30))
    bench.mount_indicator()
    world.move_head(at(110, 110, 3))
    assert 4.6 < bench.shows() < 5.4  # 8 below the nozzle, which is 3 above z = 0, on a low bed


@pytest.mark.parametrize(
    ("query", "meets"),
    [
        ("offset_x_mm=-20&sticks_out_mm=20&room_left_mm=15", 5.0),
        ("offset_x_mm=-20&sticks_out_mm=20&room_left_mm=25", None),
        ("offset_x_mm=20&sticks_out_mm=20&room_left_mm=15", None),
        ("room_below_mm=3&hangs_mm=8", 5.0),
        ("room_front_mm=2", 4.0),
    ],
)
def test_it_meets_the_frame_at_the_homing_place_where_there_is_less_room(query, meets):
    world = world_of(query)
    world.move_head(at(0, 0, 20))
    world.move_head(at(0, 0, 0))
    found = [crash for crash in world.crashes if crash.what is Mishap.INDICATOR_AGAINST_FRAME]
    assert (max(crash.depth_mm for crash in found) if found else None) == pytest.approx(meets)


def test_odd_travel_is_counted_from_where_it_homes(console):
    board = console("from_x_mm=-5&wide_mm=235&from_y_mm=4&high_mm=180&dialect=old")
    board.home()
    assert board.do("M114")[0].startswith("X:-5.00Y:4.00Z:12.00")
    board.do("G1 X400 F6000")
    assert board.do("M114")[0].startswith("X:230.00Y:4.00")
    assert board.printer.world.crashes == []


def test_one_screw_may_have_the_other_thread():
    world = world_of("odd_screw=2")
    ways = [world.raises_bed(name) for name in world.screw_names()]
    assert ways == ["clockwise", "anticlockwise", "clockwise", "clockwise"]
    before = world.bed.heights_mm
    Bench(world).turn_all_screws(360, "down")
    assert [before[name] - now for name, now in world.bed.heights_mm.items()] == pytest.approx(
        [0.7] * 4  # M4 coarse, ISO 261
    )


def test_a_ruler_and_an_eye_are_off_by_no_more_than_they_may():
    bench = Bench(world := world_of("hangs_mm=6.3&offset_x_mm=-21.4&offset_y_mm=3.2"))
    world.move_head(at(110, 110, 30))
    bench.make_mark()
    for _ in range(200):
        assert abs(bench.tip_below_nozzle_mm() - 6.3) <= 0.5
        right_mm, back_mm = bench.mark_from("plunger")
        assert max(abs(right_mm - 21.4), abs(back_mm + 3.2)) <= 0.35  # 0.3 and the last figure
    assert bench.goes_under(30.0)
    assert not bench.goes_under(31.0)


def test_strangers_differ_and_each_stays_the_same():
    strangers = [Description.parse(f"sim://stranger?seed={seed}") for seed in range(40)]
    assert strangers == [Description.parse(f"sim://stranger?seed={seed}") for seed in range(40)]
    assert {each.dialect for each in strangers} == {*WORDINGS}
    assert {each.build.raises for each in strangers} == {"clockwise", "anticlockwise"}
    assert min(each.build.offset_x_mm for each in strangers) < 0
    assert max(each.build.offset_x_mm for each in strangers) > 0


async def test_what_is_typed_at_the_bench_is_done_there(tmp_path):
    world = world_of("", "stranger")
    async with serve_hands(world, tmp_path / "hands"):
        told = await asyncio.to_thread(_typed, tmp_path / "hands")
    assert "lies beside the machine" in told["look"]
    assert "is on the head" in told["mount"]
    assert "The indicator shows" in told["LOOK"]
    assert world.carries_indicator
    assert "front-left 90 degrees clockwise" in told["turn front-left 90 clockwise"]
    assert "no screw is called" in told["turn nothing 90 clockwise"]
    assert "is no number" in told["under much"]
    assert "no mark is on the bed" in told["mark from plunger"]
    assert "is no command here" in told["dance"]


def _typed(hands: Path) -> dict[str, str]:
    bench = RemoteBench(hands)
    typed = ("look", "mount", "LOOK", "room", "manual", "under much", "mark from plunger", "dance")
    turns = ("turn front-left 90 clockwise", "turn nothing 90 clockwise")
    told = {}
    for each in (*typed, *turns):
        try:
            told[each] = done_at(bench, each)
        except (NotUnderstood, LookupError) as why:
            told[each] = str(why)
    bench.close()
    return told


def test_its_help_names_every_command_on_a_line_of_80():
    assert all(command.typed in help_text() for command in COMMANDS)
    assert max(len(line) for line in help_text().splitlines()) <= 80
