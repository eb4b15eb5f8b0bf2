"""The points where the gap is set and measured: over the screws, or at places of their own."""

from collections.abc import Iterator
from math import hypot

from hostctl.drafts.machine.known import (
    Axis,
    Known,
    Place,
    figure,
    number,
    places,
    plunger_reach,
    unless_refused,
)
from hostctl.drafts.machine.naming import name_question
from hostctl.drafts.question import Question, Unclear, Value, Way
from hostctl.drafts.trade_words import meanings

MOST_POINTS = 9
_NAMED = "Studies, prompts and records name it so."
APART_MM = 10.0
"""Nearer to each other they are one and the same, typed twice (choice ours)."""

_CORNERS = ((0.15, 0.15), (0.85, 0.15), (0.15, 0.85), (0.85, 0.85), (0.5, 0.5))


def point_questions(known: Known) -> Iterator[Question]:
    """Places of their own are asked for where they are not over the screws."""
    if number(known, "screws.count"):
        yield _over_screws(known)
        if known.get("points.over_screws"):
            return
    yield _count(known)
    count = round(number(known, "points.count"))
    for index in range(count):
        for axis in ("x", "y"):
            yield _where(known, index, count, axis)
        yield name_question(known, "points", index, count, _NAMED)


def _over_screws(known: Known) -> Question:
    beyond = _beyond(known)

    def check(value: Value) -> None:
        if value and beyond:
            raise Unclear(f"{beyond} Answer no; places of your own are asked for then.")

    why = "Turning a screw changes the gap most right above it: the best point to set it at."
    return Question(
        key="points.over_screws",
        text="Is the gap to be measured right above each screw?",
        why=f"{why} {beyond}".strip(),
        kind="choice",
        ways=(
            Way(word="yes", text="a point over each screw, called the same", value=True),
            Way(word="no", text="at places of their own, asked for next", value=False),
        ),
        suggested="no" if beyond else "yes",
        words=meanings("point", "screw"),
        check=check,
    )


def _beyond(known: Known) -> str:
    """Which screw the plunger can't be brought over; empty: it can over each."""
    for screw in places(known, "screws"):
        at: tuple[tuple[Axis, float], ...] = (("x", screw.x_mm), ("y", screw.y_mm))
        for axis, at_mm in at:
            reach = plunger_reach(known, axis)
            if at_mm not in reach:
                return (
                    f"The plunger reaches {axis} from {reach}, and screw '{screw.name}' is at "
                    f"{figure(at_mm)} mm."
                )
    return ""


def _count(known: Known) -> Question:
    return Question(
        key="points.count",
        text="At how many points is the gap to be measured?",
        why="One near each screw shows how level the bed is. Each more takes time in every study.",
        kind="whole",
        least=1,
        most=MOST_POINTS,
        suggested=figure(number(known, "screws.count") or 4),
        words=meanings("point"),
    )


def _where(known: Known, index: int, count: int, axis: Axis) -> Question:
    way = {"x": "to the right", "y": "to the back"}[axis]
    reach = plunger_reach(known, axis)

    def check(value: Value) -> None:
        at_mm = float(str(value))
        if at_mm not in reach:
            raise Unclear(
                f"{figure(at_mm)} mm: nozzle and plunger both reach {axis} from {reach} only. "
                "Choose a place within it."
            )
        if axis == "y":
            _check_apart(
                places(known, "points", index), number(known, f"points.{index}.x_mm"), at_mm
            )

    return Question(
        key=f"points.{index}.{axis}_mm",
        text=f"Point {index + 1} of {count}: how far {way} is it, in {axis}?",
        why=f"Nozzle and plunger must both get there: from {reach}. Near a screw is best; no clip "
        "may be within a few centimetres.",
        kind="number",
        unit="mm",
        suggested=unless_refused(_suggested(known, index, axis), check),
        words=meanings("point", axis, "clip"),
        check=check,
    )


def _check_apart(before: list[Place], x_mm: float, y_mm: float) -> None:
    """Raises Unclear."""
    for one in before:
        if hypot(one.x_mm - x_mm, one.y_mm - y_mm) < APART_MM:
            raise Unclear(
                f"'{one.name}' is at x {figure(one.x_mm)}, y {figure(one.y_mm)} mm, less than "
                f"{APART_MM:g} mm away: go back if its x is wrong."
            )


def _suggested(known: Known, index: int, axis: Axis) -> str:
    """As near to the screw of the same number as both get; without one, spread over the bed."""
    reach = plunger_reach(known, axis)
    screws = places(known, "screws")
    if index < len(screws):
        at_mm = screws[index].x_mm if axis == "x" else screws[index].y_mm
        return figure(min(max(at_mm, reach.from_mm), reach.to_mm))
    if not screws and index < len(_CORNERS):
        return figure(reach.part(_CORNERS[index]["xy".index(axis)]))
    return ""
