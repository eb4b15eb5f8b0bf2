"""A printer with four screws, as somebody answers what is asked about it."""

from collections.abc import Mapping

from hostctl.drafts.machine_questions import next_machine_question
from hostctl.drafts.question import Question, Value, understood

SAID = {
    "machine": "bench-1",
    "port": "socket://bench:1",
    "travel.x.to_mm": "235",
    "travel.y.to_mm": "220",
    "travel.z.to_mm": "250",
    "highest_point_mm": "4",
    "heat.mains_bed": "no",
    "screws.count": "4",
    "screws.seen_from": "below",
    "screws.0.x_mm": "30",
    "screws.0.y_mm": "30,5",
    "indicator.travel_mm": "10",
    "indicator.rough_x_mm": "25",
    "indicator.rough_y_mm": "0",
    "sticks.left_mm": "0",
    "sticks.right_mm": "40",
    "sticks.front_mm": "0",
    "sticks.back_mm": "0",
}


def up_to(key: str, said: Mapping[str, str]) -> tuple[dict[str, Value], Question | None]:
    """What is known once all before `key` was answered, and the question due then."""
    facts: dict[str, Value] = {}
    while (question := next_machine_question(facts)) is not None and question.key != key:
        facts[question.key] = understood(question, said.get(question.key, ""))
    return facts, question


def all_answered(said: Mapping[str, str]) -> dict[str, Value]:
    facts, question = up_to("", {**SAID, **said})
    assert question is None
    return facts
