"""The indicator that goes on the head: what it is, where it will be, how far it sticks out."""

from collections.abc import Iterator
from typing import Literal

from hostctl.config.machine import Machine
from hostctl.config.parts.gauge import Gauge
from hostctl.drafts.machine.known import Known, figure, number, reach_with, travel
from hostctl.drafts.question import Question, Unclear, Value
from hostctl.drafts.trade_words import meanings

MOST_MM = 300.0
"""Further from the nozzle, or off the head, it is a slip of the pen (choice ours)."""
BESIDE_MM = 10.0
"""A plunger so far from the nozzle has its indicator off the head on that side (choice ours)."""
LEAST_REACH_MM = 20.0
"""Less is left for points to lie in: it is a slip of the pen, or no place for it (choice ours)."""

Side = Literal["left", "right", "front", "back"]
SIDES: tuple[Side, ...] = ("left", "right", "front", "back")


def head_questions(known: Known) -> Iterator[Question]:
    """Graduation, travel, place and size of the indicator."""
    yield _resolution()
    yield _plunger_travel(known)
    yield _rough(known, "x")
    yield _rough(known, "y")
    for side in SIDES:
        yield _sticks(known, side)


def _resolution() -> Question:
    return Question(
        key="indicator.resolution_mm",
        text="How much is one graduation of the indicator?",
        why="It stands on the dial. Readings are treated as rounded to it.",
        kind="number",
        unit="mm",
        least=0.0001,
        most=0.1,
        suggested=figure(Gauge.model_fields["resolution_mm"].default),
        words=meanings("indicator", "graduation"),
    )


def _plunger_travel(known: Known) -> Question:
    lift_mm = Machine.model_fields["lift_mm"].default

    def check(value: Value) -> None:
        needs_mm = number(known, "highest_point_mm") + float(str(value)) + lift_mm
        if needs_mm > (top_mm := number(known, "travel.z.to_mm")):
            raise Unclear(
                f"To pass over everything with it the head needs {figure(needs_mm)} mm of z, and "
                f"the travel ends at {figure(top_mm)} mm: take a shorter indicator, or go back."
            )

    return Question(
        key="indicator.travel_mm",
        text="How far can the plunger be pressed in, from free to its stop?",
        why="From the indicator's data sheet, or press it in by hand and read off. It must give "
        "way as far as the nozzle comes down. Rounding down does no harm.",
        kind="number",
        unit="mm",
        least=1.0,
        most=100.0,
        words=meanings("plunger", "indicator"),
        check=check,
    )


def _rough(known: Known, axis: Literal["x", "y"]) -> Question:
    whole = travel(known, axis)
    text, other = {
        "x": ("How far to the right of the nozzle will the plunger be?", "left of it"),
        "y": ("How far behind the nozzle will the plunger be?", "in front of it"),
    }[axis]

    def check(value: Value) -> None:
        if reach_with(whole, float(str(value))).length_mm < LEAST_REACH_MM:
            raise Unclear(
                f"So far off, it reaches less than {LEAST_REACH_MM:g} mm of the {axis} travel, "
                f"{whole}: measure again, or mount it nearer."
            )

    return Question(
        key=f"indicator.rough_{axis}_mm",
        text=text,
        why=f"Seen from the front; minus: {other}. A ruler will do, to 2 mm or so: it is measured "
        "later. Hold the indicator in its mount to the head meanwhile: nothing moves.",
        kind="number",
        unit="mm",
        least=-MOST_MM,
        most=MOST_MM,
        words=meanings("plunger", "head"),
        check=check,
    )


def _sticks(known: Known, side: Side) -> Question:
    beside_mm = _beside_mm(known, side)

    def check(value: Value) -> None:
        if value == 0 and beside_mm >= BESIDE_MM:
            raise Unclear(
                f"The plunger is {figure(beside_mm)} mm off on that side, so something is likely "
                "to stick out there. Measure again; if nothing does, type 1."
            )

    return Question(
        key=f"sticks.{side}_mm",
        text=f"How far does the indicator stick out beyond the head to the {side}?",
        why="With mount and cable, from the head's outermost part on that side; round up, 0 where "
        "it does not. For homing with it on there must be so much room.",
        kind="number",
        unit="mm",
        least=0.0,
        most=MOST_MM,
        words=meanings("head", "indicator", "homing"),
        check=check,
    )


def _beside_mm(known: Known, side: Side) -> float:
    """How far the plunger is from the nozzle towards that side; negative: away from it."""
    axis, sign = {"left": ("x", -1), "right": ("x", 1), "front": ("y", -1), "back": ("y", 1)}[side]
    return sign * number(known, f"indicator.rough_{axis}_mm")
