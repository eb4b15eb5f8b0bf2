"""The way down: the plunger brought over a place, and onto the bed there, an answer a step."""

from dataclasses import dataclass

from hostctl.begin.bench import bed_questions as b
from hostctl.begin.bench.bench import Again, Bench
from hostctl.begin.bench.numbers import Expected, believed, free_again, free_number, shows
from hostctl.begin.facts import Facts
from hostctl.config.machine import BedScrew, Point

FAR_STEP_MM, NEAR_STEP_MM = 0.5, 0.1
UP_AGAIN_MM = 1.5
"""More than a step that was not noticed, and one more, press the plunger in (choice ours)."""
PRE_LOAD_MM = 0.5
STEP_AGREES_MM = 0.045
"""A step of 0.1 mm shows as one, mount and axis as they may be (choice ours)."""
GOES_FURTHER = (
    f"Where it is not yet pressed in {PRE_LOAD_MM:g} mm, the head goes {NEAR_STEP_MM:g} mm down."
)
NEXT_STEP_MM = 0.02  # less is no step


@dataclass(frozen=True, slots=True, kw_only=True)
class Height:
    """Where the plunger is pressed in by its pre-load, and what was seen on the way."""

    reading_z_mm: float
    free_mm: float
    rises: bool
    """Whether the number rises as the plunger is pressed in."""


async def plunger_over(bench: Bench, facts: Facts, spot: Point | BedScrew, why: str) -> None:
    """On somebody's word. Raises Again where it can't be brought there."""
    x_mm, y_mm = nozzle_over(facts, spot)
    check_reach(facts, spot)
    what = f"The head brings the plunger over {spot.name}."
    await bench.ask_to_move(b.go_over(f"{spot.name}, the plunger over it", why), what)
    await bench.over(x_mm, y_mm, what)


def nozzle_over(facts: Facts, spot: Point | BedScrew) -> tuple[float, float]:
    """Where the nozzle is when the plunger is over the place, as far as is known."""
    known = "found.offset" if "found.offset_x_mm" in facts else "indicator.rough"
    return (
        round(spot.x_mm - facts.number(f"{known}_x_mm"), 2),
        round(spot.y_mm - facts.number(f"{known}_y_mm"), 2),
    )


def check_reach(facts: Facts, spot: Point | BedScrew) -> None:
    """Raises Again where the plunger can't be brought over the place."""
    for axis, at_mm in zip("xy", nozzle_over(facts, spot), strict=True):
        low_mm, high_mm = (facts.number(f"travel.{axis}.{end}_mm") for end in ("from", "to"))
        if not low_mm <= at_mm <= high_mm:
            raise OutOfReach(
                f"The plunger can't reach {spot.name}: the nozzle would have to be at {axis} "
                f"{at_mm:g} mm, and its travel is {low_mm:g} to {high_mm:g} mm."
            )


class FloorReached(Again):
    """The nozzle may go no lower, and the plunger is not where it was to be."""


class OutOfReach(Again):
    """A point lies where the plunger can't be brought."""


async def reading_height(bench: Bench, facts: Facts) -> Height:
    """Down from where the plunger hangs free, until it is pressed in by its pre-load.

    In steps of 0.5 mm until the number moves, up again, then in steps of 0.1 mm. Raises Again.
    """
    resolution_mm = facts.number("indicator.resolution_mm")
    free_mm = await free_number(bench)
    await down_until_moved(bench, free_mm, resolution_mm)
    moved_z_mm = await bench.z_mm()
    up = f"The head rises {UP_AGAIN_MM:g} mm."
    await bench.ask_to_move(b.UP_AND_DOWN, up)
    await bench.rise(moved_z_mm + UP_AGAIN_MM, up, at_once=True)
    await shows(bench, free_again(free_mm, resolution_mm))
    near_z_mm = moved_z_mm + FAR_STEP_MM + NEAR_STEP_MM
    shown_mm = await down_until_moved(bench, free_mm, resolution_mm, near_z_mm)
    shown_mm = await believed(bench, shown_mm, _one_step_in(free_mm, resolution_mm))
    return await _pressed_in(bench, free_mm, shown_mm, resolution_mm)


def _one_step_in(free_mm: float, resolution_mm: float) -> Expected:
    """A step of 0.1 mm before, the number had not moved."""
    return Expected(
        zero_mm=free_mm,
        least_mm=0.0,
        most_mm=NEAR_STEP_MM + STEP_AGREES_MM + resolution_mm,
        why=f"{NEAR_STEP_MM:g} mm higher it had not moved from {free_mm:g} mm",
    )


async def down_until_moved(
    bench: Bench, free_mm: float, resolution_mm: float, near_z_mm: float = -1000.0
) -> float:
    """A step at a time until the number is another than that with the plunger free; gives it.

    near_z_mm: from here on steps are of 0.1 mm. Raises Again at the floor, and where it is asked
    for.
    """
    while True:
        z_mm = await bench.z_mm()
        step_mm = FAR_STEP_MM if z_mm - FAR_STEP_MM >= near_z_mm else NEAR_STEP_MM
        step_mm = min(step_mm, z_mm - bench.floor_z_mm)
        if step_mm < NEXT_STEP_MM:
            raise FloorReached(
                f"At z {z_mm:g} mm the floor is reached, 1 mm above where the bed may be, and the "
                "number has not moved: see that the plunger hangs below the nozzle, moves freely, "
                "and is over the bed."
            )
        what = f"The head goes {step_mm:.2g} mm down, to z {z_mm - step_mm:.2f} mm."
        said = await bench.ask_to_move(b.has_moved(step_mm, z_mm), what)
        if said == "no":
            await bench.lower(z_mm - step_mm, what, at_once=True)
        elif said == "up":
            raise Again("From the top again.")
        elif (shown_mm := await _moved(bench, free_mm, resolution_mm)) is not None:
            return shown_mm


async def _moved(bench: Bench, free_mm: float, resolution_mm: float) -> float | None:
    """What it shows; None where that is what it shows free."""
    shown_mm = await shows(bench, _touched(free_mm))
    if shown_mm in free_again(free_mm, 0.0) and abs(shown_mm - free_mm) < 2 * resolution_mm:
        await bench.talk.say(
            f"Hanging free it showed {free_mm:g} mm, so it has hardly moved: too little to tell. "
            "Go further down until it has moved by 0.02 mm or more."
        )
        return None
    return shown_mm


def _touched(free_mm: float) -> Expected:
    """It may have moved one step before, unnoticed."""
    return Expected(
        zero_mm=free_mm,
        least_mm=0.0,
        most_mm=2 * FAR_STEP_MM + STEP_AGREES_MM,
        why=f"hanging free it showed {free_mm:g} mm, and steps were of {FAR_STEP_MM:g} mm at most",
    )


async def _pressed_in(
    bench: Bench, free_mm: float, shown_mm: float, resolution_mm: float
) -> Height:
    """On in steps of 0.1 mm, each seen on the indicator, until the pre-load is reached.

    The number typed after a step lets the next one go.
    """
    way_mm = NEAR_STEP_MM if shown_mm > free_mm else -NEAR_STEP_MM
    await bench.ask_to_move(b.FURTHER, f"The head goes {NEAR_STEP_MM:g} mm down.")
    while abs(shown_mm - free_mm) < PRE_LOAD_MM - resolution_mm:
        await _step_further(bench)
        expected = Expected(
            zero_mm=shown_mm + way_mm,
            least_mm=0.0,
            most_mm=STEP_AGREES_MM + resolution_mm,
            why=f"before this step of {NEAR_STEP_MM:g} mm it showed {shown_mm:g} mm",
        )
        said_mm = await bench.length_to_move(b.shows_now(), GOES_FURTHER)
        shown_mm = await believed(bench, said_mm, expected)
    pressed_mm = abs(shown_mm - free_mm)
    z_mm = await bench.z_mm()
    return Height(
        reading_z_mm=round(z_mm + pressed_mm - PRE_LOAD_MM, 2), free_mm=free_mm, rises=way_mm > 0
    )


async def _step_further(bench: Bench) -> None:
    z_mm = await bench.z_mm()
    if z_mm - NEAR_STEP_MM < bench.floor_z_mm - 1e-6:
        raise FloorReached(
            f"At z {z_mm:g} mm the floor is reached, 1 mm above where the bed may be, and the "
            f"plunger is pressed in less than {PRE_LOAD_MM:g} mm: see that each screw is "
            "turned as it was asked, and that the plunger hangs well below the nozzle."
        )
    what = f"The head goes {NEAR_STEP_MM:g} mm down, to z {z_mm - NEAR_STEP_MM:.2f} mm."
    await bench.lower(z_mm - NEAR_STEP_MM, what, at_once=True)


async def proven(bench: Bench, facts: Facts, height: Height) -> None:
    """Down to the reading height once more: it must show the pre-load. Raises Again."""
    resolution_mm = facts.number("indicator.resolution_mm")
    what = f"The head rises, and comes down to the reading height, z {height.reading_z_mm:g} mm."
    await bench.ask_to_move(b.ONCE_MORE, what)
    async with bench.moving(what) as machine:
        await machine.lift()
        await machine.lower_to(max(height.reading_z_mm, bench.floor_z_mm), slowly=True)
    expected = Expected(
        zero_mm=height.free_mm + (PRE_LOAD_MM if height.rises else -PRE_LOAD_MM),
        least_mm=0.0,
        most_mm=0.02 + resolution_mm,
        why=f"hanging free it showed {height.free_mm:g} mm, and is to be pressed in "
        f"{PRE_LOAD_MM:g} mm",
    )
    await shows(bench, expected)
