"""The people: they do what the prompt's words say, with the skill they were given."""

import json
from dataclasses import replace
from datetime import UTC, datetime
from statistics import mean, stdev

import pytest
from a_place import A_PLACE
from hostctl_simulators.people import People, Question, Said
from hostctl_simulators.people_process import reply_to
from hostctl_simulators.printers import WORKSHOP_220
from hostctl_simulators.world import Spot, World

from hostctl.records import Prompt, PromptKind


@pytest.fixture
def world() -> World:
    world = World(WORKSHOP_220, 7)
    world.move_head(Spot(x_mm=30, y_mm=190, z_mm=12))
    world.move_head(Spot(x_mm=30, y_mm=190, z_mm=0))
    return world


def question(
    kind: PromptKind,
    text: str,
    *,
    number: int = 1,
    method: str = "paper-slip",
    operator: str = "volunteer-a",
) -> Question:
    return Question(
        prompt_id=f"p{number}",
        kind=kind,
        text=text,
        method=method,
        operator=operator,
        point="back-left",
    )


@pytest.mark.parametrize(
    ("text", "screw", "rise_deg"),
    [
        (
            "Turn the front-left screw about a third of a turn (120°) anticlockwise.",
            "front-left",
            -120,
        ),
        ("Turn the screw 90 degrees clockwise.", "back-left", 90),
        ("Turn BACK-RIGHT by 45 deg counter-clockwise, seen from above.", "back-right", -45),
        ("Look, clear your hands, confirm.", "back-left", 0),
        ("Turn it clockwise until the 0.10 mm leaf drags.", "back-left", 0),
    ],
)
def test_a_turn_is_taken_from_the_words(world, text, screw, rise_deg):
    before = dict(world.bed.heights_mm)
    assert People(world).answer(question(PromptKind.CONFIRM, text)) == Said(prompt_id="p1")
    rise_mm = {name: world.bed.heights_mm[name] - before[name] for name in before}
    assert rise_mm.pop(screw) == pytest.approx(0.7 * rise_deg / 360)
    assert set(rise_mm.values()) == {0.0}


@pytest.mark.parametrize("operator", ["volunteer-a", "volunteer-b"])
@pytest.mark.parametrize("method", ["paper-slip", "feeler-gauge", "contact-light"])
def test_settings_scatter_about_the_gap_as_the_truth_says(world, method, operator):
    people, gaps = People(world), []
    for number in range(1500):
        asked = question(
            PromptKind.SET, "Set the gap.", number=number, method=method, operator=operator
        )
        people.answer(asked)
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
    People(world, seed=1).answer(question(PromptKind.SET, "Set the gap."))
    assert world.gap_mm() == pytest.approx(0.10, abs=0.05)


def test_a_prompt_asked_again_is_answered_again_with_still_hands(world):
    people, asked = People(world), question(PromptKind.SET, "Turn 90° clockwise, then set it.")
    people.answer(asked)
    before = dict(world.bed.heights_mm)
    assert people.answer(asked) == Said(prompt_id="p1")
    assert world.bed.heights_mm == before


def test_zero_then_read_gives_zero(world):
    people = People(world)
    assert (
        people.answer(question(PromptKind.ZERO, "Turn the indicator to zero.")).reading_mm is None
    )
    assert people.answer(question(PromptKind.READ, "Read.", number=2)).reading_mm == 0.0


def test_a_gauge_block_is_laid_and_taken(world):
    people = People(world)
    world.zero_indicator()
    people.answer(question(PromptKind.CONFIRM, "Lay the 1.5 mm gauge block under the plunger."))
    assert world.read_indicator() == pytest.approx(1.5, abs=0.011)
    people.answer(question(PromptKind.CONFIRM, "Take the gauge block off the bed.", number=2))
    assert world.read_indicator() == pytest.approx(0.0, abs=0.011)


def test_a_prompt_record_and_a_json_line_ask_the_same():
    place = replace(A_PLACE, point="back-left", trials_total=1)
    prompt = Prompt(
        prompt_id="p1",
        kind=PromptKind.SET,
        text="Set the gap.",
        detail="Gently.",
        moves_next="",
        place=place,
        opened_at=datetime.now(UTC),
        resolution_mm=None,
    )
    line: dict[str, object] = {
        "event": "prompt",
        "prompt_id": "p1",
        "kind": "set",
        "text": "Set the gap.",
        "detail": "Gently.",
        "method": "paper-slip",
        "operator": "volunteer-a",
        "point": "back-left",
    }
    assert Question.from_prompt(prompt) == Question.from_json(line)


def test_a_program_in_json_lines_is_answered(world):
    people = People(world)
    asked = {"event": "prompt", "prompt_id": "p1", "kind": "read", "text": "Read it."}
    reply = reply_to(people, json.dumps(asked).encode())
    assert reply is not None
    assert json.loads(reply) == {"prompt_id": "p1", "reading_mm": world.read_indicator()}


@pytest.mark.parametrize(
    "line", [b"not json\n", b"[]\n", b'{"event":"reading"}\n', b'{"event":"prompt"}\n']
)
def test_what_is_no_prompt_is_not_answered(world, line):
    assert reply_to(People(world), line) is None
