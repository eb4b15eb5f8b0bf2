"""People at a tie: plate, leads, lamp, blades and block; what they see, and what they say wrong."""

import asyncio
import json
from dataclasses import asdict, replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from at_the_bench import POINT, go, shown_pressed_mm
from hostctl_simulators import find_world, forget_printers
from hostctl_simulators.people.channel import SimulatedPeople
from hostctl_simulators.people.feelers import Blades
from hostctl_simulators.people.gradual import GOES
from hostctl_simulators.people.hands import Hands, RemoteHands, serve_hands
from hostctl_simulators.people.people import People, Question, Said
from hostctl_simulators.people.process import reply_to
from hostctl_simulators.physical.bench_faults import BenchFaults
from hostctl_simulators.physical.printers import WORKSHOP_220
from hostctl_simulators.physical.world import World
from hostctl_simulators.ways_in.port import open_sim_port
from hypothesis import given
from hypothesis import strategies as st

from hostctl.choices import BEYOND, DARK, FELL, GREW, LIT, PULLED, SLACK, WITHIN
from hostctl.deeds import (
    ClearAway,
    Deed,
    JoinByHand,
    LayPlate,
    LiftHold,
    MeterLeads,
    PressPlunger,
    SetGap,
    SetOnBlock,
    TryBlade,
    TurnScrew,
    WatchLamp,
    WatchLeads,
    WireContact,
)
from hostctl.link.port import PortSettings
from hostctl.news import Prompt, Word
from hostctl.run.desk import Desk

JOIN, PART = (JoinByHand(joined=joined, by_eye=True) for joined in (True, False))


def world_with(**faults: float) -> World:
    world = World(WORKSHOP_220, 7, faults=BenchFaults(**faults))
    go(world, *POINT, 1.0)
    return world


def asked(deed: Deed, number: int = 1) -> Question:
    return Question(prompt_id=f"p{number}", deed=deed, operator="volunteer-a")


def told(people: People, *deeds: Deed) -> list[Said]:
    return [people.answer(asked(deed, number)) for number, deed in enumerate(deeds)]


# ------------------------------------------------------------ what they see


@pytest.mark.parametrize(
    ("deed", "key", "sound", "faulty"),
    [
        (MeterLeads(), "leads_beyond", WITHIN, BEYOND),
        (WatchLeads(), "leads_pulled", SLACK, PULLED),
        (PressPlunger(), "indicator_falls", GREW, FELL),
        (WatchLamp(), "contact_stuck", DARK, LIT),
    ],
)
def test_they_say_what_they_see(deed, key, sound, faulty):
    assert People(world_with()).answer(asked(deed)).choice == sound
    assert People(world_with(**{key: 1})).answer(asked(deed)).choice == faulty


def test_they_join_and_part_the_leads_and_say_what_the_lamp_does():
    people = People(world_with())
    deeds = PART, JOIN, WatchLamp(), PART, JOIN, ClearAway(), WatchLamp()
    said = [each.choice for each in told(people, *deeds)]
    assert said == [DARK, LIT, LIT, DARK, LIT, None, DARK]


def test_where_the_machine_sees_it_they_join_the_leads_and_say_done():
    world = world_with()
    said = People(world).answer(asked(JoinByHand(joined=True, by_eye=False)))
    assert said == Said(prompt_id="p1")
    assert world.contact_closed()


def test_they_lay_the_plate_and_clear_all_away():
    world = world_with()
    people, bare_mm = People(world), world.gap_mm()
    people.answer(asked(WireContact()))
    world.homing_begins()  # the nozzle's own lead, tied to the head's cables, may stay
    assert world.crashes == []
    people.answer(asked(LayPlate(thick_mm=0.5), 2))
    assert bare_mm - world.gap_mm() == pytest.approx(0.5)
    people.answer(asked(ClearAway(), 9))
    assert world.gap_mm() == pytest.approx(bare_mm)
    world.homing_begins()
    assert world.crashes == []


def test_the_number_they_saw_falling_falls_as_the_plunger_is_pressed_in():
    grows, falls = world_with(), world_with(indicator_falls=1)
    for world in (grows, falls):
        shown_pressed_mm(world)
        before_mm = world.read_indicator()
        world.turn_screw("front-left", 90, "clockwise")
        grew = world.read_indicator() > before_mm
        assert People(world).answer(asked(PressPlunger())).choice == (GREW if grew else FELL)
    assert grows.read_indicator() == pytest.approx(-falls.read_indicator(), abs=0.011)


def test_an_indicator_that_falls_is_zeroed_as_any_other():
    world = world_with(indicator_falls=1)
    shown_pressed_mm(world)
    world.zero_indicator()
    assert world.read_indicator() == 0.0
    world.turn_screw("front-left", 36, "clockwise")  # up by 0.07 mm
    assert world.read_indicator() == -0.07


# ------------------------------------------------------------ blades and block


@given(gap_mm=st.floats(0.03, 2.9), seed=st.integers(0, 10_000))
def test_the_gap_lies_between_the_blades_give_or_take_their_error_and_the_feel(gap_mm, seed):
    blades = Blades(seed)
    largest_mm, smallest_mm = blades.largest_in_mm(gap_mm), blades.smallest_out_mm(gap_mm)
    slack_mm = blades.error_mm + blades.feel_mm + 1e-9
    assert largest_mm - slack_mm <= gap_mm <= smallest_mm + slack_mm
    step_mm = 0.01 if smallest_mm <= 0.1 else 0.05
    assert 0 < smallest_mm - largest_mm <= step_mm + 1e-9


def test_a_blade_is_as_thick_each_time_and_not_quite_what_is_written_on_it():
    blades = Blades(3)
    errors = [blades.thick_mm(0.05 * count) - 0.05 * count for count in range(1, 21)]
    assert errors == [blades.thick_mm(0.05 * count) - 0.05 * count for count in range(1, 21)]
    assert 0.002 < max(errors) - min(errors) <= 2 * blades.error_mm


def test_no_blade_goes_into_no_gap_and_all_go_into_a_wide_one():
    assert Blades(3).largest_in_mm(0.0) == 0.0
    assert Blades(3).largest_in_mm(5.0) == Blades(3).smallest_out_mm(5.0) == 3.0


def test_they_try_blades_on_whatever_lies_under_the_nozzle():
    world = world_with()
    people = People(world)
    said = told(
        people,
        LayPlate(thick_mm=0.5),
        TryBlade(which="largest-in"),
        TryBlade(which="smallest-out"),
    )
    low_mm, high_mm = said[1].reading_mm, said[2].reading_mm
    assert low_mm is not None
    assert high_mm is not None
    assert low_mm - 0.008 <= world.gap_mm() <= high_mm + 0.008
    assert high_mm - low_mm == pytest.approx(0.05)


@given(seed=st.integers(0, 10_000))
def test_a_bed_set_on_a_block_is_as_far_off_as_the_block_is_high(seed):
    world = World(WORKSHOP_220, seed)
    go(world, *POINT, 1.0)
    people = People(world)
    people.answer(asked(SetOnBlock(thick_mm=1.0)))
    within_mm = people.block.error_mm + people.block.feel_mm
    assert abs(world.gap_mm()) <= people.block.feel_mm + 1e-6  # on the block
    people.answer(asked(ClearAway(), 2))
    assert abs(world.gap_mm() - 1.0) <= within_mm + 1e-6
    assert world.crashes == []


# ------------------------------------------------------------ wrong on purpose


def test_they_can_be_made_to_say_what_is_wrong_though_their_hands_do_what_is_right():
    world = world_with()
    people = People(world)
    slips = iter([DARK])

    def dark_once_more(question: Question, said: Said) -> Said:
        lit = said.choice == LIT
        return replace(said, choice=next(slips, LIT)) if lit else said

    people.slip = dark_once_more
    said = [each.choice for each in told(people, JOIN, WatchLamp(), PART)]
    assert said == [DARK, LIT, DARK]


def test_a_wrong_blade_is_said_again_under_the_same_id():
    people = People(world_with())
    people.slip = lambda question, said: replace(said, reading_mm=0.7)
    first = people.answer(asked(TryBlade(which="largest-in")))
    assert first.reading_mm == 0.7
    assert people.answer(asked(TryBlade(which="largest-in"))) == first


# ------------------------------------------------------------ how they are reached


def test_a_program_in_json_lines_is_told_the_choice():
    people = People(world_with())
    line = json.dumps({"event": "prompt", "prompt_id": "p1", "deed": asdict(JOIN)})
    reply = reply_to(people, line.encode())
    assert reply is not None
    assert json.loads(reply) == {"choice": "lit", "prompt_id": "p1"}


class Through:
    """Hands on `World`, of which each deed is kept, and what came of it."""

    def __init__(self, hands: Hands) -> None:
        self.hands = hands

    def all(self) -> list[object]:
        hands = self.hands
        return [
            hands.press_plunger(),
            hands.lay_under_nozzle(0.4),
            hands.clip_lead(),
            hands.leads_within(),
            hands.leads_slack(),
            hands.join_leads(True),
            hands.contact_closed(),
            hands.clear_away(),
            hands.contact_closed(),
            hands.turn_bezel(0.05),
            hands.knock_indicator(0.02),
            hands.warm_room(3.0),
            hands.change_nozzle(0.1),
            hands.gap_mm(),
            hands.read_indicator(),
        ]


async def test_hands_in_another_process_do_and_see_the_same(tmp_path: Path):
    near, far = world_with(), world_with()
    for world in (near, far):
        shown_pressed_mm(world)
    async with serve_hands(far, tmp_path / "hands"):

        def reach() -> list[object]:
            hands = RemoteHands(tmp_path / "hands")
            try:
                return Through(hands).all()
            finally:
                hands.close()

        assert await asyncio.to_thread(reach) == Through(near).all()


URL = "sim://workshop-220?seed=7"


def prompt(number: int, deed: Deed) -> Prompt:
    return Prompt(
        prompt_id=f"p{number}",
        deed=deed,
        text="Do it.",
        detail="",
        moves_next="",
        place=None,
        opened_at=datetime.now(UTC),
        resolution_mm=None,
    )


async def test_at_a_desk_they_choose_one_of_what_is_asked():
    forget_printers()
    go(find_world(URL), *POINT, 1.0)
    desk, channel = Desk(), SimulatedPeople({"url": URL})
    async with asyncio.TaskGroup() as group:
        serving = group.create_task(channel.serve(desk))
        lit = await desk.ask(prompt(1, JOIN))
        blade = await desk.ask(prompt(2, TryBlade(which="smallest-out")))
        serving.cancel()
    assert (lit.word, lit.choice, lit.reading_mm) == (Word.CHOSEN, LIT, None)
    assert (blade.word, blade.choice) == (Word.READING, None)


# ------------------------------------------------------------ a printer with nobody at it


async def test_what_belongs_to_a_tie_is_done_for_a_user_who_has_no_hands_there():
    forget_printers()
    world = find_world(URL)
    go(world, *POINT, 1.0)
    bare_mm = world.gap_mm()
    port = await open_sim_port(URL, PortSettings())
    try:
        assert port.do(LayPlate(thick_mm=0.5)) == "Simulated: done."
        assert world.gap_mm() == pytest.approx(bare_mm - 0.5)
        assert port.do(TryBlade(which="largest-in")).endswith(" mm blade.")
        assert port.do(MeterLeads()) == "Simulated: both within their limits."
        assert port.do(PressPlunger()) == "Simulated: the number grew."
        assert (port.do(JOIN), port.contact_closed()) == ("", True)
        assert (port.do(PART), port.contact_closed()) == ("", False)
        assert port.do(WatchLamp()) == ""
    finally:
        await port.close()


async def test_screws_a_gap_a_door_and_a_probe_are_seen_to_without_a_word():
    forget_printers()
    world = find_world(URL)
    go(world, *POINT, 0.0)
    port = await open_sim_port(URL, PortSettings())
    try:
        before_mm = world.bed.heights_mm["back-right"]
        turn = TurnScrew(screw="back-right", turn_deg=360, direction="clockwise")
        assert port.do(turn) == ""
        assert world.bed.heights_mm["back-right"] == pytest.approx(before_mm + 0.7 / GOES)
        port.write(b"M114\n")  # hands are out before anything else is done
        assert world.bed.heights_mm["back-right"] == pytest.approx(before_mm + 0.7)
        assert port.do(SetGap(method="contact-light")) == ""
        assert world.gap_mm() == pytest.approx(0.02, abs=0.025)
        world.move_door(is_open=True)
        assert port.do(LiftHold()) == ""
        assert not world.door_open
    finally:
        await port.close()
        forget_printers()


async def test_where_people_stand_at_it_nothing_is_done_for_them():
    forget_printers()
    SimulatedPeople({"url": URL})
    port = await open_sim_port(URL, PortSettings())
    try:
        assert (port.do(JOIN), port.contact_closed()) == ("", False)
    finally:
        await port.close()
        forget_printers()


async def test_what_a_printer_has_not_got_is_said_and_breaks_nothing():
    forget_printers()
    port = await open_sim_port(URL, PortSettings())
    try:
        find_world(URL).indicator = None
        assert port.do(PressPlunger()) == "Simulated: workshop-220 carries no dial indicator now."
    finally:
        await port.close()
        forget_printers()
