"""How far the plunger is from the nozzle: both brought over one mark on the bed."""

from hostctl.begin.bench import bed_questions as b
from hostctl.begin.bench.bench import Again, Bench
from hostctl.begin.bench.fitting import made_ready
from hostctl.begin.bench.so_far import points_of
from hostctl.begin.bench.way_down import OutOfReach, check_reach
from hostctl.begin.facts import Facts
from hostctl.begin.notes import Notes
from hostctl.config.machine import Point

OVER_MM = 0.5
"""Nearer than this is over it (choice ours)."""
ABOVE_BED_MM = 2.0
"""So far the free plunger's tip is above the bed while the mark is looked at (choice ours)."""
MOST_TRIES = 6
FAR_OFF_MM = 25.0
"""Further from what the ruler said, and one of both is wrong (choice ours)."""


async def find_offset(bench: Bench, notes: Notes) -> None:
    """`found.offset_x_mm`, `found.offset_y_mm`. Raises Again."""
    await made_ready(bench, notes.facts)
    facts = notes.facts
    mark = _place(facts)
    await _nozzle_over(bench, facts, mark)
    await bench.ask(b.MARK)
    offset_mm = (facts.number("indicator.rough_x_mm"), facts.number("indicator.rough_y_mm"))
    for _ in range(MOST_TRIES):
        await _plunger_over(bench, facts, mark, offset_mm)
        right_mm, back_mm = await bench.lengths_mm(b.MARK_RIGHT, b.MARK_BACK)
        offset_mm = (round(offset_mm[0] - right_mm, 2), round(offset_mm[1] - back_mm, 2))
        if max(abs(right_mm), abs(back_mm)) <= OVER_MM:
            break
    else:
        raise Again(f"After {MOST_TRIES} tries the plunger is still not over the mark.")
    await _look_once_more(bench, facts, mark, offset_mm)
    _check(facts, offset_mm)
    notes.know({"found.offset_x_mm": offset_mm[0], "found.offset_y_mm": offset_mm[1]})
    try:
        for point in points_of(notes.facts):
            check_reach(notes.facts, point)
    except OutOfReach:
        notes.forget("points.")
        raise


def _place(facts: Facts) -> Point:
    """In the middle of the travel: nozzle and plunger reach it."""
    middle = {
        axis: (facts.number(f"travel.{axis}.from_mm") + facts.number(f"travel.{axis}.to_mm")) / 2
        for axis in "xy"
    }
    return Point(name="mark", x_mm=round(middle["x"], 1), y_mm=round(middle["y"], 1))


def _check(facts: Facts, offset_mm: tuple[float, float]) -> None:
    rough_mm = (facts.number("indicator.rough_x_mm"), facts.number("indicator.rough_y_mm"))
    if max(abs(a - b) for a, b in zip(offset_mm, rough_mm, strict=True)) > FAR_OFF_MM:
        raise Again(
            f"By the mark the plunger is {offset_mm[0]:g} mm right of the nozzle and "
            f"{offset_mm[1]:g} mm behind it; by ruler {rough_mm[0]:g} and {rough_mm[1]:g} mm."
        )


def _looked_at_z_mm(facts: Facts) -> float:
    """The plunger free, its tip not far above the bed."""
    pressed_z_mm = facts.number("found.low_reading_z_mm")
    return round(pressed_z_mm + 0.5 + ABOVE_BED_MM, 2)


async def _nozzle_over(bench: Bench, facts: Facts, mark: Point) -> None:
    where = f"x {mark.x_mm:g}, y {mark.y_mm:g} mm"
    await _come(bench, facts, (mark.x_mm, mark.y_mm), f"the nozzle over the mark's place, {where}")


async def _plunger_over(
    bench: Bench, facts: Facts, mark: Point, offset_mm: tuple[float, float]
) -> None:
    place = (round(mark.x_mm - offset_mm[0], 2), round(mark.y_mm - offset_mm[1], 2))
    await _come(bench, facts, place, "the plunger over the mark")


async def _come(bench: Bench, facts: Facts, place: tuple[float, float], what: str) -> None:
    z_mm = _looked_at_z_mm(facts)
    moves = f"The head rises, brings {what}, and goes down to z {z_mm:g} mm."
    await bench.ask_to_move(b.go_over(f"there: {what}", "The plunger stays off the bed."), moves)
    await bench.over(*place, moves, down_to_mm=z_mm)


async def _look_once_more(
    bench: Bench, facts: Facts, mark: Point, offset_mm: tuple[float, float]
) -> None:
    await _nozzle_over(bench, facts, mark)
    if not await bench.ask(b.over_mark("nozzle")):
        raise Again("Then the mark was not under the nozzle, or was moved: it is made anew.")
    await _plunger_over(bench, facts, mark, offset_mm)
    if not await bench.ask(b.over_mark("plunger")):
        raise Again("Then one of the lengths was wrong: it is done once more.")
