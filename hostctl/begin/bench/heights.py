"""How low the nozzle may go, and at which height the plunger is pressed in by its pre-load."""

from hostctl.begin.bench import bed_questions as b
from hostctl.begin.bench import questions as q
from hostctl.begin.bench.bench import Bench
from hostctl.begin.bench.fitting import made_ready
from hostctl.begin.bench.so_far import points_of, screws_of
from hostctl.begin.bench.way_down import (
    PRE_LOAD_MM,
    FloorReached,
    plunger_over,
    proven,
    reading_height,
)
from hostctl.begin.notes import Notes
from hostctl.config.machine import BedScrew, SeenFrom, Turn

HIGHEST_BED_MM, LOWEST_BED_MM = 3.0, -8.0
"""Where a bed lies after homing, at the most (choice ours): z 0 is where nozzle and bed meet."""
WIDEST_MM = 6.0
ABOVE_CONTACT_MM = 1.5
OTHER_WAY = {Turn.CLOCKWISE: Turn.ANTICLOCKWISE, Turn.ANTICLOCKWISE: Turn.CLOCKWISE}


async def find_contact(bench: Bench, notes: Notes) -> None:
    """Over the first point: where the bed may be, and where the plunger meets it as it lies now.

    `found.bed_below_mm`, `found.low_reading_z_mm`, `found.rises`. Raises Again.
    """
    await made_ready(bench, notes.facts)
    bench.machine.envelope.floor_z_mm = LOWEST_BED_MM
    first = points_of(notes.facts)[0]
    why = "There it is found out at which height the plunger meets the bed. The bed is clear."
    await plunger_over(bench, notes.facts, first, why)
    below_mm = await _bed_below(bench)
    bench.bed_lies_below(below_mm)
    height = await reading_height(bench, notes.facts)
    notes.know(
        {
            "found.bed_below_mm": below_mm,
            "found.rises": height.rises,
            "found.low_reading_z_mm": height.reading_z_mm,
        }
    )


async def measure_height(bench: Bench, notes: Notes) -> None:
    """The same with the bed up, where it is used: `found.reading_z_mm`. Raises Again.

    Where the bed may be is found by hand once more: how far it came up is only asked for.
    """
    await made_ready(bench, notes.facts)
    rise_mm = await _bed_up(bench, notes)
    facts = notes.facts
    bench.bed_lies_below(facts.number("found.bed_below_mm") + 2 * rise_mm)
    low_mm = facts.number("found.low_reading_z_mm")
    first = points_of(facts)[0]
    await plunger_over(bench, facts, first, "The bed is up; its height there is measured anew.")
    below_mm = await _bed_below(bench)
    notes.know({"found.bed_below_mm": below_mm})
    bench.bed_lies_below(below_mm)
    await _lower_near(bench, low_mm + rise_mm)
    try:
        height = await reading_height(bench, facts)
    except FloorReached:
        notes.forget("seen.bed_up")  # it may not be up: it is asked again
        raise
    await proven(bench, facts, height)
    came_mm = height.reading_z_mm - low_mm
    if abs(came_mm - rise_mm) > max(rise_mm / 2, 0.2):
        question = b.as_it_is(came_mm, rise_mm)
        if not await bench.ask(question):
            notes.forget("seen.bed_up")
            return
    notes.know({"found.reading_z_mm": height.reading_z_mm, "found.pre_load_mm": PRE_LOAD_MM})


def near_z_mm(reading_z_mm: float) -> float:
    """Where the plunger still hangs free if the bed lies as was reckoned."""
    return round(reading_z_mm + PRE_LOAD_MM + ABOVE_CONTACT_MM, 2)


async def _lower_near(bench: Bench, reading_z_mm: float) -> None:
    """Down to there, on somebody's word."""
    z_mm = near_z_mm(reading_z_mm)
    if await bench.z_mm() <= z_mm:
        return
    what = f"The head goes down slowly to z {z_mm:g} mm."
    await bench.ask_to_move(b.LOWER_NEAR, what)
    await bench.lower(z_mm, what)


def turn_up(screw: BedScrew) -> str:
    """`front-left anticlockwise, seen from below`: the way that raises the bed there."""
    way = screw.raises_bed
    if screw.seen_from is SeenFrom.BELOW:
        way = OTHER_WAY[way]
    return f"{screw.name} {way.value}, seen from {screw.seen_from.value}"


async def _bed_up(bench: Bench, notes: Notes) -> float:
    """The turn down taken back; gives how far that raises the bed by the machine's count, mm.

    Then it homes anew: a machine that finds z by the bed counts from where that is now.
    """
    screws = screws_of(notes.facts)
    if not screws:
        return 0.0
    if "seen.bed_up" not in notes.facts:
        await bench.ask(b.bed_up([turn_up(screw) for screw in screws]))
        notes.know({"seen.bed_up": True})  # at once: turned once more the bed would be too high
    if "seen.bed_up_homed" not in notes.facts:
        await bench.ask_to_move(q.HOME_AFTER_TURNS, "The head rises, then all axes home.")
        await bench.home()
        notes.know({"seen.bed_up_homed": True})
    found_by_bed = notes.facts.get("home.stands") is False
    return 0.0 if found_by_bed else notes.facts.number("screws.pitch_mm")


async def _bed_below(bench: Bench) -> float:
    """The bed lies nowhere above this, by what goes under the nozzle."""
    z_mm = await bench.z_mm()
    while True:
        under_mm, not_mm = await bench.lengths_mm(b.goes_under(z_mm), b.DOES_NOT)
        below_mm = round(z_mm - under_mm, 2)
        why = _why_not(under_mm, not_mm, below_mm)
        if not why:
            return below_mm
        await bench.talk.say(f"{why} The nozzle stands at z {z_mm:g} mm. Try both again.")


def _why_not(under_mm: float, not_mm: float, below_mm: float) -> str:
    if not under_mm < not_mm:
        return f"{under_mm:g} mm goes under and {not_mm:g} mm does not: that can't be."
    if not_mm - under_mm > WIDEST_MM:
        return f"{under_mm:g} to {not_mm:g} mm is too wide a range: {WIDEST_MM:g} mm at most."
    if not LOWEST_BED_MM <= below_mm <= HIGHEST_BED_MM:
        return f"Then the bed would lie at z {below_mm:g} mm, and it was homed to z 0."
    return ""
