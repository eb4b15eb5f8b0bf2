"""The screws that the bed stands on: how many, which, where."""

from collections.abc import Iterator
from itertools import combinations
from math import hypot

from hostctl.config.machine import SCREW_OUTSIDE_MM, BedScrew, SeenFrom
from hostctl.drafts.machine.known import (
    Axis,
    Known,
    Place,
    figure,
    number,
    places,
    travel,
    unless_refused,
)
from hostctl.drafts.machine.naming import name_question
from hostctl.drafts.question import Question, Unclear, Value, Way
from hostctl.drafts.trade_words import meanings

_NAMED = "You are told by this name which one to turn."
APART_MM = 10.0
"""Nearer to each other they are one and the same, typed twice (choice ours)."""
ON_A_LINE_MM = 10.0
"""Screws that lie no further off a line can't level a bed across it (choice ours)."""
COUNTS = {
    0: "none that is to be turned",
    3: "such as two in front and one at the back",
    4: "one near each corner",
    5: "these, and one in the middle",
    6: "such as three along each of two sides",
}


def screw_questions(known: Known) -> Iterator[Question]:
    """None of the rest where there are none."""
    yield _count()
    if not (count := round(number(known, "screws.count"))):
        return
    yield _seen_from()
    yield _pitch()
    for index in range(count):
        for axis in ("x", "y"):
            yield _where(known, index, count, axis)
        yield name_question(known, "screws", index, count, _NAMED)


def _count() -> Question:
    return Question(
        key="screws.count",
        text="On how many screws does the bed stand that can be turned to level it?",
        why="They are under the bed or in its corners, often with springs. 0 where there are none, "
        "or where they are not to be turned.",
        kind="choice",
        ways=tuple(Way(word=str(count), text=lie, value=count) for count, lie in COUNTS.items()),
        words=meanings("screw", "bed"),
    )


def _seen_from() -> Question:
    return Question(
        key="screws.seen_from",
        text="From where do you look at a screw while you turn it?",
        why="Clockwise seen from above is anticlockwise seen from below. You are told the way as "
        "you see it.",
        kind="choice",
        ways=(
            Way(word="above", text="from above, at its head", value=SeenFrom.ABOVE.value),
            Way(word="below", text="from below, at a knob or nut", value=SeenFrom.BELOW.value),
        ),
        words=meanings("screw"),
    )


def _pitch() -> Question:
    return Question(
        key="screws.pitch_mm",
        text="How far does one full turn of a screw move the bed (its pitch)?",
        why="0.7 mm for an M4 screw, 0.5 for M3, 0.8 for M5 (ISO 261, coarse). Measure across the "
        "thread if unsure: 4 mm is M4.",
        kind="number",
        unit="mm",
        least=0.2,
        most=3.0,
        suggested=figure(BedScrew.model_fields["pitch_mm"].default),
        words=meanings("pitch"),
    )


def _where(known: Known, index: int, count: int, axis: Axis) -> Question:
    way = {"x": "to the right", "y": "to the back"}[axis]

    def check(value: Value) -> None:
        at_mm = float(str(value))
        whole = travel(known, axis)
        if not whole.from_mm - SCREW_OUTSIDE_MM <= at_mm <= whole.to_mm + SCREW_OUTSIDE_MM:
            raise Unclear(
                f"{figure(at_mm)} mm is over {SCREW_OUTSIDE_MM:g} mm outside the {axis} travel, "
                f"{whole}: measure again."
            )
        if axis == "y":
            found = Place("", number(known, f"screws.{index}.x_mm"), at_mm)
            _check_among([*places(known, "screws", index), found], count)

    suggested = unless_refused(_suggested(known, index, count, axis), check)
    how = (
        "Suggested as on a bed that is even left and right, front and back: see that it is so."
        if suggested
        else f"By ruler, from where {axis} is 0 on the bed, to 5 mm or so. Front left comes first."
    )
    return Question(
        key=f"screws.{index}.{axis}_mm",
        text=f"Screw {index + 1} of {count}: how far {way} is it, in {axis}?",
        why=f"The {axis} that the nozzle has above it. {how}",
        kind="number",
        unit="mm",
        suggested=suggested,
        words=meanings("screw", axis),
        check=check,
    )


def _check_among(found: list[Place], count: int) -> None:
    """The last one against those before. Raises Unclear."""
    *before, last = found
    for one in before:
        if hypot(one.x_mm - last.x_mm, one.y_mm - last.y_mm) < APART_MM:
            raise Unclear(
                f"'{one.name}' is at x {figure(one.x_mm)}, y {figure(one.y_mm)} mm, less than "
                f"{APART_MM:g} mm away: go back if its x is wrong."
            )
    if len(found) == count and not any(_wide(*three) for three in combinations(found, 3)):
        raise Unclear("All screws would lie on one line, which levels nothing: look again.")


def _wide(one: Place, other: Place, third: Place) -> bool:
    """Whether the triangle is nowhere lower than `ON_A_LINE_MM`."""
    ux, uy = other.x_mm - one.x_mm, other.y_mm - one.y_mm
    vx, vy = third.x_mm - one.x_mm, third.y_mm - one.y_mm
    longest = max(hypot(ux, uy), hypot(vx, vy), hypot(ux - vx, uy - vy))
    return abs(ux * vy - uy * vx) >= ON_A_LINE_MM * longest


def _suggested(known: Known, index: int, count: int, axis: Axis) -> str:
    """As a bed has them that is the same left and right, front and back; confirmed by hand."""
    if index == 0:
        return ""
    first_mm = number(known, f"screws.0.{axis}_mm")
    whole = travel(known, axis)
    middle_mm = round((whole.from_mm + whole.to_mm) / 2, 3)
    at_mm = {"=": first_mm, "~": whole.mirrored(first_mm), "|": middle_mm}
    pattern = _pattern(known, count)[index]
    return figure(at_mm[pattern["xy".index(axis)]])


def _pattern(known: Known, count: int) -> tuple[str, ...]:
    """Of each screw its x and y: as the first one's (=), mirrored (~), in the middle (|)."""
    if count == 3:
        return ("==", "~=", "|~")
    corners = ("==", "~=", "=~", "~~")
    if count == 5:
        return (*corners, "||")
    deeper = travel(known, "y").length_mm > travel(known, "x").length_mm
    return (*corners, *(("=|", "~|") if deeper else ("|=", "|~")))
