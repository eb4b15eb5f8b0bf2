"""The first homings: bare, then with the indicator on, once there is seen to be room for it."""

from hostctl.begin.bench import questions as q
from hostctl.begin.bench.bench import Again, Bench
from hostctl.begin.bench.so_far import screws_of
from hostctl.begin.facts import Facts
from hostctl.begin.notes import Notes

SIDES = ("left", "right", "front", "back")
ROOM_MM = 3.0
"""So much more than the indicator sticks out (choice ours)."""
MOUNTING_Z_MM = 60.0
"""High enough for hands and an indicator (choice ours)."""
RULERS_AGREE_MM = 4.0
"""Two lengths by ruler, and a bed that may lie a little low or high (choice ours)."""

SWITCH_OFF = (
    "Nothing more moves. Switch the machine off at the mains, see what was in the way or does not "
    "work, and the maker's manual; then begin this again."
)


async def fit_indicator(bench: Bench, notes: Notes) -> None:
    """Homed bare, room measured, indicator mounted: `hangs_mm`. Raises Again."""
    await bench.connect(notes.facts)
    await bench.machine.check_cool()
    await bench.ask(q.INDICATOR_OFF)
    bench.machine.envelope.hangs_mm = 0.0
    if not (bench.homed and bench.homed_bare):
        await _home_bare(bench, notes)
    await _measure_room(bench, notes)
    await _mount(bench, notes)


async def home_with_indicator(bench: Bench, notes: Notes) -> None:
    """Homed with it on, watched: `seen.mounted_homing`. Raises Again."""
    if not bench.homed:
        await made_ready(bench, notes.facts)
    else:
        bench.know(notes.facts)
        await bench.ask_to_move(q.MOUNTED_HOMING, "The head rises, then all axes home.")
        await bench.home()
    if not await bench.look(q.MOUNTED_HOMED_WELL):
        notes.forget("hangs_mm", "room.", "seen.")
        raise Again(SWITCH_OFF)
    notes.know({"seen.mounted_homing": True})


async def made_ready(bench: Bench, facts: Facts) -> None:
    """Connected, and homed with the indicator on, where it is not any more.

    Raises Moved where the indicator is not as it was.
    """
    await bench.connect(facts)
    if not bench.homed:
        await bench.machine.check_cool()
        if not await bench.ask(q.STILL_ON):
            raise Moved(
                "What was measured with the indicator is not known any more; take it off the head."
            )
        bench.know(facts)
        await bench.ask_to_move(q.HOME_AGAIN, "The head rises, then all axes home.")
        await bench.home()
    bench.know(facts)


class Moved(Again):
    """The indicator was moved: all that was measured with it is void."""


async def _home_bare(bench: Bench, notes: Notes) -> None:
    is_down = "seen.bed_down" in notes.facts and "seen.bed_up" not in notes.facts
    if (screws := screws_of(notes.facts)) and not is_down:
        await bench.ask(q.bed_down(screws))
        notes.forget("seen.bed_up")
        notes.know({"seen.bed_down": True})
    await bench.ask_to_move(q.FIRST_HOMING, "The head rises, then all axes home.")
    at = await bench.home()
    if not await bench.look(q.HOMED_WELL):
        raise Again(SWITCH_OFF)
    bench.homed_bare = True
    notes.know({"seen.bare_homing": True, "home.x_mm": at.x_mm, "home.y_mm": at.y_mm})


async def _measure_room(bench: Bench, notes: Notes) -> None:
    """What is below the plunger where z homes, then beside the head where x and y end."""
    below, stands = await bench.answers(q.BELOW, q.STANDS_AT_ITS_ENDS)
    if below == "other":
        raise Again(
            "Where it homes the plunger would come down on something. Take that away, or fix the "
            "indicator to another side of the head."
        )
    notes.know({"room.below": below, "home.stands": stands})
    if not stands:
        await _go_to_its_ends(bench, notes.facts)
    sticks_mm = {side: notes.facts.number(f"sticks.{side}_mm") for side in SIDES}
    sides = [side for side in SIDES if sticks_mm[side] > 0]
    rooms_mm = await bench.lengths_mm(*(q.room(side, sticks_mm[side]) for side in sides))
    for side, room_mm in zip(sides, rooms_mm, strict=True):
        if room_mm < sticks_mm[side] + ROOM_MM:
            room_mm = await bench.length_mm(q.room(side, sticks_mm[side], said_mm=room_mm))
        if room_mm < sticks_mm[side] + ROOM_MM:
            notes.forget("indicator.rough", "sticks.", "room.")
            raise Again(
                f"There are {room_mm:g} mm on the {side}, and the indicator sticks out "
                f"{sticks_mm[side]:g} mm there; {ROOM_MM:g} mm must be left. Fix it to the head "
                f"another way, {max(room_mm - ROOM_MM, 0):g} mm out or less on that side; where "
                "it sits and how far it sticks out is asked again."
            )
        notes.know({f"room.{side}_mm": room_mm})


async def _go_to_its_ends(bench: Bench, facts: Facts) -> None:
    """Where x and y found their ends there is least room."""
    at_x, at_y = await bench.answers(q.end_of("x"), q.end_of("y"))
    x_mm, y_mm = facts.number(f"travel.x.{at_x}"), facts.number(f"travel.y.{at_y}")
    what = f"The head goes slowly to its ends, x {x_mm:g}, y {y_mm:g} mm."
    await bench.ask_to_move(q.TO_ITS_ENDS, what)
    await bench.over(x_mm, y_mm, what)
    if not await bench.look(q.SAME_ENDS):
        raise Again("Then the room is not to be measured there: say once more where they are.")


async def _mount(bench: Bench, notes: Notes) -> None:
    facts = notes.facts
    z_mm = min(MOUNTING_Z_MM, facts.number("travel.z.to_mm"))
    await bench.ask_to_move(q.RAISE, f"The head rises to z {z_mm:g} mm.")
    await bench.rise(z_mm, f"The head rises to z {z_mm:g} mm.")
    await bench.ask(q.MOUNT)
    hangs_mm, above_mm = await _hang(bench, facts, z_mm)
    sides = [side for side in SIDES if facts.number(f"sticks.{side}_mm") > 0]
    if not await bench.ask(q.fits(sides)):
        notes.forget("indicator.rough", "sticks.", "room.")
        raise Again(
            "Then it may not home there with the indicator on. Take the indicator off, and fix it "
            "another way; where it sits and how far it sticks out is asked again."
        )
    notes.know({"mount.tip_above_bed_mm": above_mm, "hangs_mm": hangs_mm})


async def _hang(bench: Bench, facts: Facts, z_mm: float) -> tuple[float, float]:
    """How far the plunger hangs, and how high its tip is: together they are the nozzle's height."""
    question = q.hangs(facts.number("indicator.travel_mm"))
    while True:
        hangs_mm, above_mm = await bench.lengths_mm(question, q.TIP_ABOVE_BED)
        if abs(hangs_mm + above_mm - z_mm) <= RULERS_AGREE_MM:
            return hangs_mm, above_mm
        await bench.talk.say(
            f"{hangs_mm:g} and {above_mm:g} mm make {hangs_mm + above_mm:g} mm, and the nozzle "
            f"stands at z {z_mm:g} mm: measure both again."
        )
