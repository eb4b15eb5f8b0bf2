"""The people: they do the deed they are asked for, with the skill they were given."""

import json
from dataclasses import asdict
from datetime import UTC, datetime
from statistics import mean, stdev

import pytest
from a_place import A_PLACE
from hostctl_simulators.people.people import People, Question, Said
from hostctl_simulators.people.process import reply_to
from hostctl_simulators.physical.printers import WORKSHOP_220
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.world import World

from hostctl.channels.json_lines.json_words import object_for
from hostctl.deeds import (
    ClearBed,
    Deed,
    JudgeReading,
    LayBlock,
    LiftHold,
    LookAtThermalFault,
    ReadIndicator,
    SetGap,
    TakeBlock,
    TurnScrew,
    ZeroIndicator,
)
from hostctl.news import Prompt, PromptOpened


@pytest.fixture
def world() -> World:
    world = World(WORKSHOP_220, 7)
    world.move_head(Spot(x_mm=30, y_mm=190, z_mm=12))
    world.move_head(Spot(x_mm=30, y_mm=190, z_mm=0))
    return world


PAPER = SetGap(method="paper-slip")


def question(deed: Deed, *, number: int = 1, operator: str = "volunteer-a") -> Question:
    return Question(prompt_id=f"p{number}", deed=deed, operator=operator)


@pytest.mark.parametrize(
    ("deed", "screw", "rise_deg"),
    [
        (
            TurnScrew(screw="front-left", turn_deg=120, direction="anticlockwise"),
            "front-left",
            -120,
        ),
        (TurnScrew(screw="back-right", turn_deg=45, direction="clockwise"), "back-right", 45),
        # a point's name, since the machine file names no screw: the one that is nearest
        (TurnScrew(screw="centre", turn_deg=90, direction="clockwise"), "back-left", 90),
        # whatever lowers the bed
        (TurnScrew(screw="front-left", turn_deg=60, direction=None), "front-left", -60),
        (ClearBed(), "back-left", 0),
        (JudgeReading(value_mm=2.5), "back-left", 0),
        (LiftHold(), "back-left", 0),
        (LookAtThermalFault(), "back-left", 0),
    ],
)
def test_a_screw_is_turned_as_the_deed_says_and_else_hands_stay_still(world, deed, screw, rise_deg):
    before = dict(world.bed.heights_mm)
    assert People(world).answer(question(deed)) == Said(prompt_id="p1")
    rise_mm = {name: world.bed.heights_mm[name] - before[name] for name in before}
    assert rise_mm.pop(screw) == pytest.approx(0.7 * rise_deg / 360)
    assert set(rise_mm.values()) == {0.0}


@pytest.mark.slow
@pytest.mark.parametrize("operator", ["volunteer-a", "volunteer-b"])
@pytest.mark.parametrize("method", ["paper-slip", "feeler-gauge", "contact-light"])
def test_settings_scatter_about_the_gap_as_the_truth_says(world, method, operator):
    people, gaps = People(world), []
    for number in range(1500):
        people.answer(question(SetGap(method=method), number=number, operator=operator))
        gaps.append(world.gap_mm())
    sigma_mm = world.truth.hand_sigma_mm(method, operator)
    assert stdev(gaps) == pytest.approx(sigma_mm, rel=0.06)
    aim_mm = {"contact-light": 0.02}.get(method, 0.10)
    assert mean(gaps) - aim_mm == pytest.approx(
        world.truth.bias_mm(method, operator), abs=4 * sigma_mm / 1500**0.5
    )


def test_where_screws_share_the_bed_the_gap_is_still_set_exactly(world):
    world.move_head(Spot(x_mm=30, y_mm=190, z_mm=12))
    world.move_head(Spot(x_mm=120, y_mm=140, z_mm=12))
    world.move_head(Spot(x_mm=120, y_mm=140, z_mm=0))
    People(world, seed=1).answer(question(PAPER))
    assert world.gap_mm() == pytest.approx(0.10, abs=0.05)


def test_a_prompt_asked_again_is_answered_again_with_still_hands(world):
    people, asked = People(world), question(PAPER)
    people.answer(asked)
    before = dict(world.bed.heights_mm)
    assert people.answer(asked) == Said(prompt_id="p1")
    assert world.bed.heights_mm == before


def test_zero_then_read_gives_zero(world):
    people = People(world)
    assert people.answer(question(ZeroIndicator())).reading_mm is None
    assert people.answer(question(ReadIndicator(), number=2)).reading_mm == 0.0


def test_a_gauge_block_is_laid_and_taken(world):
    people = People(world)
    world.zero_indicator()
    people.answer(question(LayBlock(thick_mm=1.5)))
    assert world.read_indicator() == pytest.approx(1.5, abs=0.011)
    people.answer(question(TakeBlock(), number=2))
    assert world.read_indicator() == pytest.approx(0.0, abs=0.011)


@pytest.mark.parametrize(
    "deed",
    [
        ClearBed(),
        TurnScrew(screw="front-left", turn_deg=120, direction=None),
        PAPER,
        LayBlock(thick_mm=1.5),
        TakeBlock(),
        ZeroIndicator(),
        ReadIndicator(),
        JudgeReading(value_mm=-0.4),
        LiftHold(),
        LookAtThermalFault(),
    ],
)
def test_a_prompt_record_and_a_json_line_ask_the_same(deed: Deed):
    prompt = Prompt(
        prompt_id="p1",
        deed=deed,
        text="Do it.",
        detail="Gently.",
        moves_next="",
        place=A_PLACE,
        opened_at=datetime.now(UTC),
        resolution_mm=None,
    )
    line = json.loads(json.dumps(object_for(PromptOpened(prompt=prompt))))
    assert Question.from_prompt(prompt) == Question.from_json(line)


NO_DEED = b'{"event":"prompt","prompt_id":"p1","deed":{"do":"sweep the floor"}}\n'


def test_a_program_in_json_lines_is_answered(world):
    people = People(world)
    asked = {"event": "prompt", "prompt_id": "p1", "deed": asdict(ReadIndicator())}
    reply = reply_to(people, json.dumps(asked).encode())
    assert reply is not None
    assert json.loads(reply) == {"prompt_id": "p1", "reading_mm": world.read_indicator()}


@pytest.mark.parametrize(
    "line", [b"not json\n", b"[]\n", b'{"event":"reading"}\n', b'{"event":"prompt"}\n', NO_DEED]
)
def test_what_is_no_prompt_is_not_answered(world, line):
    assert reply_to(People(world), line) is None
