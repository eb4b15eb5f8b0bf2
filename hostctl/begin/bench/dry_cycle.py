"""The cycle of a run, slowly, over all points: what comes of it is how the bed lies there."""

from hostctl.begin.bench import bed_questions as b
from hostctl.begin.bench.bench import EYES_ALONE, Bench
from hostctl.begin.bench.fitting import made_ready
from hostctl.begin.bench.numbers import free_number
from hostctl.begin.bench.so_far import points_of
from hostctl.begin.bench.way_down import nozzle_over
from hostctl.begin.notes import Notes
from hostctl.drafts.question import Question

LEAST_PRESSED_MM, MOST_PRESSED_MM = 0.2, 1.0
"""As the pre-load of a machine file may be."""


async def make_dry_cycle(bench: Bench, notes: Notes) -> None:
    """`found.pressed.POINT` of each point, mm; `seen.dry_cycle`. Raises Again."""
    await made_ready(bench, notes.facts)
    facts = notes.facts
    await _lifted(bench, b.DRY_CYCLE)
    free_mm = await free_number(bench)
    z_mm = facts.number("found.reading_z_mm")
    for point in points_of(facts):
        moves = f"The head goes over {point.name}, and slowly down to z {z_mm:g} mm."
        await bench.ask_to_move(b.next_point(point.name), moves)
        await bench.over(*nozzle_over(facts, point), moves, down_to_mm=z_mm)
        shown_mm = await bench.length_mm(b.shows_now("cycle.shows_mm"), EYES_ALONE)
        pressed_mm = shown_mm - free_mm if facts["found.rises"] else free_mm - shown_mm
        notes.know({f"found.pressed.{point.name}": round(pressed_mm, 4)})
    await _lifted(bench, b.RISE)
    notes.know({"seen.dry_cycle": True})


async def _lifted(bench: Bench, question: Question) -> None:
    rises = "The head rises."
    await bench.ask_to_move(question, rises)
    async with bench.moving(rises) as machine:
        await machine.lift()


def told(notes: Notes) -> list[str]:
    """How the bed lies, by how far the plunger was pressed in at each point."""
    pressed = {
        point.name: notes.facts.number(f"found.pressed.{point.name}")
        for point in points_of(notes.facts)
    }
    high, low = max(pressed, key=lambda name: pressed[name]), min(pressed, key=lambda n: pressed[n])
    span_mm = pressed[high] - pressed[low]
    lines = [
        f"The bed lies highest at {high}, lowest at {low}: {span_mm:.2f} mm apart. How far to turn "
        "each screw is found by hostctl level, at any time."
    ]
    if pressed[low] < LEAST_PRESSED_MM or pressed[high] > MOST_PRESSED_MM:
        lines.append(
            f"The plunger is to be pressed in {LEAST_PRESSED_MM:g} to {MOST_PRESSED_MM:g} mm "
            "everywhere: level the bed before you judge a method at several points."
        )
    return lines
