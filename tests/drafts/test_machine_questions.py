"""A machine by questions: each comes when it is due, refuses what can't be, suggests no harm."""

from collections.abc import Iterable, Mapping

import pytest
from a_printer import SAID, all_answered, up_to

from hostctl.drafts.machine.known import Place, points
from hostctl.drafts.machine_questions import next_line_question, next_machine_question
from hostctl.drafts.question import Unclear, Value, understood

IN_ORDER = [
    "machine",
    "port",
    "baud",
    "travel.x.from_mm",
    "travel.x.to_mm",
    "travel.y.from_mm",
    "travel.y.to_mm",
    "travel.z.from_mm",
    "travel.z.to_mm",
    "highest_point_mm",
    "heat.mains_bed",
    "screws.count",
    "screws.seen_from",
    "screws.pitch_mm",
    "screws.0.x_mm",
    "screws.0.y_mm",
    "screws.0.name",
    "screws.1.x_mm",
    "screws.1.y_mm",
    "screws.1.name",
    "screws.2.x_mm",
    "screws.2.y_mm",
    "screws.2.name",
    "screws.3.x_mm",
    "screws.3.y_mm",
    "screws.3.name",
    "indicator.resolution_mm",
    "indicator.travel_mm",
    "indicator.rough_x_mm",
    "indicator.rough_y_mm",
    "sticks.left_mm",
    "sticks.right_mm",
    "sticks.front_mm",
    "sticks.back_mm",
    "points.over_screws",
]


def test_four_screws_take_few_answers_that_are_typed() -> None:
    facts, typed = {}, 0
    while (question := next_machine_question(facts)) is not None:
        typed += not question.suggested
        facts[question.key] = understood(question, "" if question.suggested else SAID[question.key])
    assert list(facts) == IN_ORDER
    assert typed <= 25
    assert points(facts) == [
        Place("front-left", 30, 30.5),
        Place("front-right", 205, 30.5),
        Place("back-left", 30, 189.5),
        Place("back-right", 205, 189.5),
    ]


def test_each_question_can_be_read_by_itself_and_explains_its_words() -> None:
    facts: dict[str, Value] = {}
    for said in (SAID, {**SAID, "screws.count": "0"}, {**SAID, "points.over_screws": "no"}):
        facts = {}
        while (question := next_machine_question(facts)) is not None:
            assert question.text.endswith("?")
            assert question.why.endswith(".")
            assert len(question.text) <= 76
            assert len(question.why) <= 240
            for word in question.words or {}:
                assert word.split()[0] in f"{question.text} {question.why}".lower(), question.key
            facts[question.key] = understood(question, said.get(question.key, ""))


def test_the_line_comes_first_so_that_the_machine_can_be_asked() -> None:
    facts: dict[str, Value] = {}
    while (question := next_line_question(facts)) is not None:
        facts[question.key] = understood(question, SAID.get(question.key, ""))
    assert list(facts) == ["machine", "port", "baud"]


def test_ports_that_are_there_go_by_a_number_and_any_may_be_typed() -> None:
    ports = ["/dev/serial/by-id/usb-Bench_A", "/dev/ttyACM1"]
    question = next_machine_question({"machine": "bench-1"}, ports=ports)
    assert question is not None
    assert question.suggested == ""
    assert [way.text for way in question.ways] == ports
    assert understood(question, "2") == "/dev/ttyACM1"
    for typed in ("/dev/ttyACM7", "sim://workshop-tri?seed=7", "socket://[::1]:2000"):
        assert understood(question, typed) == typed
    with pytest.raises(Unclear, match="3 is the number of none that is there"):
        understood(question, "3")
    with pytest.raises(Unclear, match="can be printed"):
        understood(question, "/dev/tty\x1b[2J")


def test_a_name_that_is_taken_is_neither_suggested_nor_taken() -> None:
    question = next_machine_question({}, taken={"our-printer", "bench-1"})
    assert question is not None
    assert understood(question, "") == "our-printer-2"
    with pytest.raises(Unclear, match="Another machine is called 'bench-1' already"):
        understood(question, "bench-1")
    with pytest.raises(Unclear, match="type it like our-bench-2"):
        understood(question, "Our Bench 2")


REFUSED = [
    ("baud", {}, "100", "100 is not from 1200 to 4e+06"),
    ("travel.z.from_mm", {}, "5", "5 mm is not from -20 to 0 mm"),
    ("travel.x.to_mm", {"travel.x.from_mm": "-5"}, "44", "its other end is at 45 mm or more"),
    ("highest_point_mm", {}, "21", "21 mm is not from 0 to 20 mm"),
    ("highest_point_mm", {"travel.z.to_mm": "50"}, "-1", "-1 mm is not from 0"),
    ("screws.count", {}, "2", "Type one of: 0, 3, 4, 5, 6"),
    ("screws.0.x_mm", {}, "286", "286 mm is over 50 mm outside the x travel, 0 to 235 mm"),
    ("screws.0.y_mm", {}, "-51", "-51 mm is over 50 mm outside the y travel"),
    ("screws.1.y_mm", {"screws.1.x_mm": "32"}, "31", "'front-left' is at x 30, y 30.5 mm, less"),
    ("screws.1.name", {}, "front-left", "Another screw is called 'front-left' already"),
    ("screws.2.name", {}, "Hinten, Links", "type it like hinten-links"),
    (
        "screws.2.y_mm",
        {"screws.count": "3", "screws.2.x_mm": "118"},
        "33",
        "All screws would lie on one line",
    ),
    (
        "indicator.travel_mm",
        {"travel.z.to_mm": "60", "highest_point_mm": "20"},
        "36",
        "needs 61 mm of z, and the travel ends at 60 mm",
    ),
    ("indicator.rough_x_mm", {}, "-214", "reaches less than 20 mm of the x travel, 0 to 235 mm"),
    ("sticks.right_mm", {}, "0", "The plunger is 25 mm off on that side"),
    ("sticks.left_mm", {"indicator.rough_x_mm": "-25"}, "0", "The plunger is 25 mm off"),
    ("sticks.back_mm", {"indicator.rough_y_mm": "30"}, "0", "The plunger is 30 mm off"),
    (
        "points.over_screws",
        {"indicator.rough_x_mm": "60"},
        "yes",
        "reaches x from 63 to 235 mm, and screw 'front-left' is at 30 mm. Answer no",
    ),
    ("points.0.x_mm", {"points.over_screws": "no"}, "27", "both reach x from 28 to 235 mm only"),
    ("points.0.y_mm", {"points.over_screws": "no"}, "218", "both reach y from 3 to 217 mm only"),
    (
        "points.1.y_mm",
        {"points.over_screws": "no", "points.1.x_mm": "33"},
        "33",
        "'front-left' is at x 30, y 30.5 mm",
    ),
    ("points.1.name", {"points.over_screws": "no"}, "front-left", "Another point is called"),
]


@pytest.mark.parametrize(("key", "said", "wrong", "why"), REFUSED)
def test_what_can_not_be_is_refused_with_its_reason(
    key: str, said: Mapping[str, str], wrong: str, why: str
) -> None:
    _, question = up_to(key, {**SAID, **said})
    assert question is not None
    with pytest.raises(Unclear) as unclear:
        understood(question, wrong)
    assert why in str(unclear.value)
    assert "\n" not in str(unclear.value)


def test_an_indicator_wider_than_the_head_is_no_dead_end() -> None:
    _, question = up_to("sticks.right_mm", SAID)
    assert question is not None
    assert understood(question, "1") == 1


@pytest.mark.parametrize(
    ("count", "names"),
    [
        ("3", "front-left front-right back"),
        ("4", "front-left front-right back-left back-right"),
        ("5", "front-left front-right back-left back-right middle"),
        ("6", "front-left front-right back-left back-right front back"),
    ],
)
def test_the_other_screws_are_suggested_from_the_first(count: str, names: str) -> None:
    facts = all_answered({"screws.count": count})
    assert [place.name for place in points(facts)] == names.split()


def test_points_are_suggested_where_nozzle_and_plunger_get() -> None:
    facts = all_answered({"screws.count": "3", "indicator.rough_x_mm": "60"})
    assert points(facts) == [
        Place("front-left", 63, 30.5),
        Place("front-right", 205, 30.5),
        Place("back", 117.5, 189.5),
    ]
    without = points(all_answered({"screws.count": "0"}))
    assert names_of(without) == ["front-left", "front-right", "back-left", "back-right"]


def names_of(places: Iterable[Place]) -> list[str]:
    return [place.name for place in places]


def test_an_answer_that_does_not_hold_any_more_is_asked_for_again_and_says_why() -> None:
    facts = all_answered({})
    moved = next_machine_question({**facts, "travel.x.to_mm": 150.0})
    assert moved is not None
    assert moved.key == "screws.1.x_mm"
    assert "does not hold any more. 205 mm is over 50 mm outside the x travel" in moved.why
    measured = {**facts, "found.offset_x_mm": 29.9, "found.offset_y_mm": 0.2}
    assert next_machine_question(measured) is None
    unreached = next_machine_question({**measured, "found.offset_x_mm": 31.2})
    assert unreached is not None
    assert unreached.key == "points.over_screws"
    assert "reaches x from 31.2 to 235 mm, and screw 'front-left' is at 30 mm" in unreached.why
    assert understood(unreached, "") is False


def test_the_pitches_named_are_those_of_the_standard() -> None:
    """Coarse pitches by ISO 261 (its table, from memory): M3 0.5, M4 0.7, M5 0.8 mm."""
    _, question = up_to("screws.pitch_mm", SAID)
    assert question is not None
    for size, pitch in (("M3", 0.5), ("M4", 0.7), ("M5", 0.8)):
        assert any(f"{pitch}" in part and size in part for part in question.why.split(","))
    assert understood(question, "") == 0.7
