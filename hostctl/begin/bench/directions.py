"""Which way each bed screw raises the bed: a quarter turn, and which way the number went."""

from hostctl.begin.bench import bed_questions as b
from hostctl.begin.bench.bench import Bench
from hostctl.begin.bench.fitting import made_ready
from hostctl.begin.bench.heights import OTHER_WAY, near_z_mm
from hostctl.begin.bench.numbers import free_number
from hostctl.begin.bench.so_far import screws_of
from hostctl.begin.bench.way_down import down_until_moved, nozzle_over
from hostctl.begin.facts import Facts
from hostctl.begin.notes import Notes
from hostctl.config.machine import BedScrew, Point, SeenFrom, Turn

PRESSED_MM = 0.4
"""So far the plunger is pressed in, so that a quarter turn either way leaves it on the bed."""


async def find_directions(bench: Bench, notes: Notes) -> None:
    """`found.raises.NAME` of each screw. Raises Again."""
    await made_ready(bench, notes.facts)
    for screw in screws_of(notes.facts):
        if f"found.raises.{screw.name}" not in notes.facts:
            await _find(bench, notes, screw)
    await _try_odd_ones_again(bench, notes)


def is_known(facts: Facts) -> bool:
    """Whether every screw was tried, and an odd one twice."""
    return "seen.screws_tried" in facts


async def _find(bench: Bench, notes: Notes, screw: BedScrew) -> None:
    await _plunger_down_at(bench, notes.facts, screw)
    way = await _way(bench, screw)
    more_pressed = (way == "up") == notes.facts["found.rises"]
    turn = Turn.CLOCKWISE if more_pressed else Turn.ANTICLOCKWISE
    if screw.seen_from is SeenFrom.BELOW:
        turn = OTHER_WAY[turn]
    notes.know({f"found.raises.{screw.name}": turn.value})


async def _try_odd_ones_again(bench: Bench, notes: Notes) -> None:
    """All screws of a bed are usually alike: what is not is looked at once more."""
    screws = screws_of(notes.facts)
    clockwise = [screw for screw in screws if screw.raises_bed is Turn.CLOCKWISE]
    others = [screw for screw in screws if screw.raises_bed is not Turn.CLOCKWISE]
    odd = min(clockwise, others, key=len)
    if odd:
        await bench.talk.say(
            f"{_names(odd)} would raise the bed the other way round than the rest. That may be "
            "so; it is tried once more."
        )
    for screw in odd:
        await _find(bench, notes, screw)
    notes.know({"seen.screws_tried": True})


async def _plunger_down_at(bench: Bench, facts: Facts, screw: BedScrew) -> None:
    """The plunger over the screw, or as near as it can be brought, and pressed in a little."""
    z_mm = near_z_mm(facts.number("found.low_reading_z_mm") + 0.5)
    what = f"The head brings the plunger near the {screw.name} screw, then down to z {z_mm:g} mm."
    why = "The bed may lie higher or lower there: from z {:g} mm on each step is asked for."
    where = f"the {screw.name} screw, the plunger over it, and down to z {z_mm:g} mm"
    await bench.ask_to_move(b.go_over(where, why.format(z_mm)), what)
    await bench.over(*_near(facts, screw), what, down_to_mm=z_mm)
    free_mm = await free_number(bench)
    await down_until_moved(bench, free_mm, facts.number("indicator.resolution_mm"))
    z_mm = round(await bench.z_mm() - PRESSED_MM, 2)
    pressed = f"The head goes {PRESSED_MM:g} mm further down, which presses the plunger in."
    await bench.ask_to_move(b.PRESS_IN, pressed)
    await bench.lower(z_mm, pressed, at_once=True)


def _near(facts: Facts, screw: BedScrew) -> tuple[float, float]:
    """Where the nozzle is then; within the travel."""
    spot = Point(name=screw.name, x_mm=screw.x_mm, y_mm=screw.y_mm)
    x_mm, y_mm = nozzle_over(facts, spot)
    return _within(facts, "x", x_mm), _within(facts, "y", y_mm)


def _within(facts: Facts, axis: str, at_mm: float) -> float:
    low_mm, high_mm = (facts.number(f"travel.{axis}.{end}_mm") for end in ("from", "to"))
    return min(max(at_mm, low_mm), high_mm)


async def _way(bench: Bench, screw: BedScrew) -> str:
    """Which way the number went at a quarter turn clockwise; back it must go the other way."""
    while True:
        there = str(await bench.ask(b.way_of_number(screw, back=False)))
        back = str(await bench.ask(b.way_of_number(screw, back=True)))
        if {there, back} == {"up", "down"}:
            return there
        await bench.talk.say(
            f"There it went {_said(there)}, and back {_said(back)}: one of both must be up and "
            "the other down. Both once more; see that the plunger stays on the bed, and that it "
            "is this screw; if the plunger is not near it, go back."
        )


def _said(way: str) -> str:
    return "nowhere" if way == "same" else way


def _names(screws: list[BedScrew]) -> str:
    return ", ".join(screw.name for screw in screws)
