"""The machine file made of what was answered and measured: commented as a person would write it."""

import json
from collections.abc import Iterable, Iterator
from datetime import date
from textwrap import wrap

from hostctl.config.machine import Heat, Indicator, Machine, Speeds, Turn
from hostctl.drafts.machine.known import Axis, Known, Place, figure, number, places, points, travel
from hostctl.drafts.yaml_lines import COLUMN, WIDEST, plain

WIDTH = 100


def machine_text(facts: Known, measured_on: date) -> str:
    """The text of the file.

    facts: all that `next_machine_question` asks for, and of `found.raises.NAME` (seen from above),
    `found.offset_x_mm`, `found.offset_y_mm`, `found.reading_z_mm` and `found.pre_load_mm` what was
    measured, on `measured_on`. What was not says so; without a reading height there is no indicator
    in it. Raises KeyError where a question is not answered.
    """
    sections = (
        _first(facts),
        _line(facts),
        _travel(facts),
        _heights(facts),
        _speeds(),
        _points(facts),
        _screws(facts, measured_on),
        _indicator(facts, measured_on),
        _park(facts),
        _heat(facts),
        _dry_cycles(),
    )
    return "\n\n".join("\n".join(section) for section in sections) + "\n"


def _told(line: str, comment: str) -> Iterator[str]:
    """With what it means behind it, and below."""
    first, *more = [f"# {each}" for each in wrap(comment, WIDTH - COLUMN - 2)]
    if len(line) < COLUMN:
        yield f"{line:<{COLUMN}}{first}"
    elif len(line) + 3 + len(first) <= WIDEST:
        yield f"{line}   {first}"
    else:
        yield line
        more = [first, *more]
    for each in more:
        yield f"{'':{COLUMN}}{each}"


def _usual(key: str, comment: str) -> Iterator[str]:
    """A key as it is where it is left out."""
    return _told(f"{key}: {figure(Machine.model_fields[key].default)}", comment)


def _first(facts: Known) -> Iterator[str]:
    count = round(number(facts, "screws.count"))
    stands = f" whose bed stands on {count} screws" if count else ""
    x, y = travel(facts, "x"), travel(facts, "y")
    yield f"# A {x.length_mm:g} x {y.length_mm:g} mm printer{stands}; made by: hostctl begin"
    yield "# Change it as you like, then: hostctl check FILE"
    yield "# Lengths in mm, speeds in mm/s, times in s, temperatures in °C."
    yield ""
    name = plain(str(facts["machine"]))
    yield from _told(f"machine: {name}", "names the machine in every record")


def _line(facts: Known) -> Iterator[str]:
    yield "# --- The serial line"
    yield "# The stable name of the port, as `hostctl ports` lists it."
    yield f"port: {plain(str(facts['port']))}"
    yield from _told(f"baud: {figure(number(facts, 'baud'))}", "bits a second")
    yield from _told(
        "reset_on_open: true", "false: try to open the port without resetting the board"
    )
    dialect = facts.get("dialect")
    if isinstance(dialect, str) and dialect:
        line, means = f"dialect: {plain(dialect)}", "how the controller words what it says"
    else:
        line = "#dialect: classic"
        means = "classic or terse; left out: the machine is asked (M115)"
    yield from _told(line, means)


def _travel(facts: Known) -> Iterator[str]:
    yield "# --- Where the nozzle may go (from the maker's manual, never more than the real travel)"
    yield "travel:"
    for axis in _AXES:
        span = travel(facts, axis)
        yield f"  {axis}: {{from_mm: {figure(span.from_mm)}, to_mm: {figure(span.to_mm)}}}"


_AXES: tuple[Axis, ...] = ("x", "y", "z")


def _heights(facts: Known) -> Iterator[str]:
    yield "# --- Heights"
    yield from _usual(
        "lift_mm",
        "2 to 20: sideways moves happen this far above the highest known point, which clears "
        "clips, warp and the plunger (common practice, no source)",
    )
    yield from _told(
        f"highest_point_mm: {figure(number(facts, 'highest_point_mm'))}",
        "0 to 20: clips or anything else that stands above z = 0",
    )
    yield from _usual("set_z_mm", "0 to 2: nozzle height at which the operator sets the gap")
    yield from _usual(
        "position_tolerance_mm",
        "up to 0.5: how far the reported position may be from the ordered one",
    )


def _speeds() -> Iterator[str]:
    usual = Speeds()
    yield "# --- Speeds"
    yield "speeds:"
    for key, means in (
        ("sideways_mm_s", "10 to 100: faster gains nothing and shakes more"),
        ("lift_mm_s", "up to 20: straight up and down, above the approach"),
        ("approach_mm_s", "0.5 to 3: the last 2 mm down; slow enough to react"),
    ):
        yield from _told(f"  {key}: {figure(getattr(usual, key))}", means)


def _points(facts: Known) -> Iterator[str]:
    over = ": over the screws" if facts.get("points.over_screws") else ""
    yield f"# --- Named places on the bed{over}"
    yield "points:"
    listed = points(facts)
    yield from _placed(listed, [""] * len(listed))


def _placed(listed: list[Place], behind: list[str]) -> Iterator[str]:
    """One each, with what is behind it; their figures stand below each other."""
    names = _padded(f"{plain(place.name)}," for place in listed)
    across = _padded(f"{figure(place.x_mm)}," for place in listed)
    for place, name, x_mm, rest in zip(listed, names, across, behind, strict=True):
        yield f"  - {{name: {name} x_mm: {x_mm} y_mm: {figure(place.y_mm)}{rest}}}"


def _padded(words: Iterable[str]) -> list[str]:
    listed = list(words)
    widest = max(len(word) for word in listed)
    return [f"{word:<{widest}}" for word in listed]


def _screws(facts: Known, measured_on: date) -> Iterator[str]:
    yield "# --- The screws under the bed"
    listed = places(facts, "screws")
    if not listed:
        yield "# There are none that are turned."
        return
    ways = [_raises(facts, screw) for screw in listed]
    untried = [screw.name for screw, way in zip(listed, ways, strict=True) if way is None]
    yield "screws:"
    yield "  # pitch_mm: how far one turn moves the bed: 0.7 is M4 coarse (ISO 261)"
    yield "  # raises_bed: which way of turning raises the bed there, seen from above"
    if len(untried) < len(listed):
        yield f"  # (tried by `hostctl begin`, {measured_on.isoformat()})"
    for name in untried:
        yield f"  # NOT TRIED at {name}: see which way it goes before you trust it"
    yield "  # seen_from: above or below, where one stands when turning"
    yield "  # can_raise_mm: how much further it can raise the bed as it stands, and"
    yield "  # can_lower_mm: lower it; measure both before the bed is levelled (here not known)"
    pitch, seen_from = figure(number(facts, "screws.pitch_mm")), facts["screws.seen_from"]
    behind = [
        f", pitch_mm: {pitch},\n     raises_bed: {way or Turn.CLOCKWISE.value}, "
        f"seen_from: {seen_from}"
        for way in ways
    ]
    yield from _placed(listed, behind)


def _raises(facts: Known, screw: Place) -> str | None:
    way = facts.get(f"found.raises.{screw.name}")
    return way if isinstance(way, str) else None


def _indicator(facts: Known, measured_on: date) -> Iterator[str]:
    yield "# --- The dial indicator on the head"
    if "found.reading_z_mm" not in facts:
        yield "# Its heights are not measured yet, so it is left out."
        return
    on = f"measured by `hostctl begin`, {measured_on.isoformat()}"
    yield f"# Its heights were {on}, with heaters off and the bed as its"
    yield "# screws stood then: measure anew after work on head, mount or bed."
    yield "indicator:"
    for axis, means in (
        ("x", "where its plunger is, seen from the nozzle: to the right (left of it: minus)"),
        ("y", "behind it (in front: minus)"),
    ):
        yield from _offset(facts, axis, means, on)
    yield from _told(
        f"  reading_z_mm: {figure(number(facts, 'found.reading_z_mm'))}",
        "nozzle height at which the plunger rests on the bed with its pre-load",
    )
    pre_load_mm = facts.get("found.pre_load_mm", Indicator.model_fields["pre_load_mm"].default)
    yield from _told(
        f"  pre_load_mm: {figure(pre_load_mm)}",
        "0.2 to 1.0: pressed in this far at the reading height, so that the plunger is off its "
        "stops both ways (choice ours; see JIS B 7503 limits)",
    )
    yield from _told(
        f"  travel_mm: {figure(number(facts, 'indicator.travel_mm'))}",
        "of the plunger. Where the gap is set it is pushed in by reading_z_mm + pre_load_mm, which "
        "must leave some travel over",
    )


def _offset(facts: Known, axis: str, means: str, on: str) -> Iterator[str]:
    found = f"found.offset_{axis}_mm"
    measured = found in facts
    at_mm = number(facts, found if measured else f"indicator.rough_{axis}_mm")
    how = on if measured else "by ruler, to 2 mm or so"
    return _told(f"  offset_{axis}_mm: {figure(at_mm)}", f"{means}; {how}")


def _park(facts: Known) -> Iterator[str]:
    x_mm, y_mm = figure(travel(facts, "x").from_mm), figure(travel(facts, "y").to_mm)
    yield "# --- Where the head waits when a run is over (left out: it stays at the clear height)"
    yield f"#park: {{name: park, x_mm: {x_mm}, y_mm: {y_mm}}}"


def _heat(facts: Known) -> Iterator[str]:
    usual = Heat()
    yield "# --- Heat: heaters stay off unless a study asks for a warm bed"
    yield "heat:"
    for key, means in (
        ("longest_s", "heating that takes longer than this is a fault"),
        (
            "hottest_nozzle_c",
            "up to 50: hotter than this, no run starts: hands are near the nozzle",
        ),
        (
            "hottest_bed_c",
            "up to 110: the warmest bed a study may ask for; hands work near it, and a bed as warm "
            "as that burns",
        ),
    ):
        yield from _told(f"  {key}: {figure(getattr(usual, key))}", means)
    mains = facts["heat.mains_bed"]
    line = f"  mains_bed: {json.dumps(mains)}" if mains is not None else "  #mains_bed: false"
    yield from _told(
        line,
        "whether the bed is heated by mains voltage; only where it is said not to be may the "
        "nozzle be wired to tie the indicator to it (the maker's manual)",
    )
    if mains is None:
        yield from _told("", "left out: not known, so nothing is wired at this bed")


def _dry_cycles() -> Iterator[str]:
    return _usual(
        "dry_cycles",
        "0 to 10: cycles at the start that are not counted, so that grease and screws settle (ISO "
        "230-2 asks for a stated warm-up; the number is ours)",
    )
