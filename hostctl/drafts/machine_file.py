"""The machine file made of what was answered and measured: commented as a person would write it."""

import json
import re
from collections.abc import Iterable, Iterator
from datetime import date

from hostctl.config.machine import Heat, Indicator, Machine, Speeds, Turn
from hostctl.drafts.machine.known import Known, Place, number, places, plain, points

PLAIN_WORD = re.compile(r"[A-Za-z/][A-Za-z0-9/._:?=&@+-]*[A-Za-z0-9/]|[a-z]")
NO_TEXT = ("true", "false", "null")
COMMENT_AT = 26


def machine_text(facts: Known, measured_on: date) -> str:
    """The text of the file.

    measured_on: when what begins with `found.` was measured. What was not measured takes what it
    would where it is left out, and says so; without a reading height there is no indicator in it.
    Raises KeyError where a question of `next_machine_question` is not answered.
    """
    sections = (
        _head(facts),
        _line(facts),
        _travel(facts),
        _heights(facts),
        _speeds(),
        _points(facts),
        _screws(facts, measured_on),
        _indicator(facts, measured_on),
        _park(),
        _heat(facts),
        _ending(),
    )
    return "\n\n".join("\n".join(section) for section in sections) + "\n"


def yaml_word(text: str) -> str:
    """A text as it stands in YAML: in quotes where it would be read as anything else."""
    if PLAIN_WORD.fullmatch(text) and text.lower() not in NO_TEXT:
        return text
    return json.dumps(text, ensure_ascii=False)


def _told(line: str, comment: str) -> str:
    """With what it means behind it."""
    return f"{line:<{COMMENT_AT - 1}} # {comment}"


def _more(comment: str) -> str:
    """The comment goes on."""
    return f"{'':{COMMENT_AT}}# {comment}"


def _default(key: str) -> str:
    return plain(Machine.model_fields[key].default)


def _head(facts: Known) -> Iterator[str]:
    count = round(number(facts, "screws.count"))
    stands = f" whose bed stands on {count} screws" if count else ""
    x_mm = number(facts, "travel.x.to_mm") - number(facts, "travel.x.from_mm")
    y_mm = number(facts, "travel.y.to_mm") - number(facts, "travel.y.from_mm")
    yield f"# A {x_mm:g} x {y_mm:g} mm printer{stands}. Made by: hostctl begin"
    yield "# Change it as you like, then: hostctl check FILE"
    yield "# Lengths in mm, speeds in mm/s, times in s, temperatures in °C."
    yield ""
    yield _told(f"machine: {yaml_word(str(facts['machine']))}", "names the machine in every record")


def _line(facts: Known) -> Iterator[str]:
    yield "# --- The serial line"
    yield "# The stable name of the port, as `hostctl ports` lists it."
    yield f"port: {yaml_word(str(facts['port']))}"
    yield _told(f"baud: {plain(number(facts, 'baud'))}", "bits a second")
    yield _told("reset_on_open: true", "false: try to open the port without resetting the board")
    dialect = facts.get("dialect")
    if isinstance(dialect, str) and dialect:
        yield _told(f"dialect: {yaml_word(dialect)}", "how the controller words what it says")
    else:
        yield _told("#dialect: classic", "classic or terse; left out: the machine is asked (M115)")


def _travel(facts: Known) -> Iterator[str]:
    yield "# --- Where the nozzle may go (from the maker's manual, never more than the real travel)"
    yield "travel:"
    for axis in ("x", "y", "z"):
        low = plain(number(facts, f"travel.{axis}.from_mm"))
        high = plain(number(facts, f"travel.{axis}.to_mm"))
        yield f"  {axis}: {{from_mm: {low}, to_mm: {high}}}"


def _heights(facts: Known) -> Iterator[str]:
    yield "# --- Heights"
    yield _told(f"lift_mm: {_default('lift_mm')}", "2 to 20: sideways moves happen this far above")
    yield _more("the highest known point, which clears clips, warp and the")
    yield _more("plunger (common practice, no source)")
    highest = plain(number(facts, "highest_point_mm"))
    yield _told(f"highest_point_mm: {highest}", "0 to 20: clips or anything else that stands above")
    yield _more("z = 0")
    yield _told(f"set_z_mm: {_default('set_z_mm')}", "0 to 2: nozzle height at which the operator")
    yield _more("sets the gap")
    yield _told(f"position_tolerance_mm: {_default('position_tolerance_mm')}", "up to 0.5: how far")
    yield _more("the reported position may be from the ordered one")


def _speeds() -> Iterator[str]:
    of = Speeds()
    yield "# --- Speeds"
    yield "speeds:"
    yield _told(f"  sideways_mm_s: {plain(of.sideways_mm_s)}", "10 to 100: faster gains nothing")
    yield _more("and shakes more")
    yield _told(f"  lift_mm_s: {plain(of.lift_mm_s)}", "up to 20: straight up and down, above the")
    yield _more("approach")
    yield _told(f"  approach_mm_s: {plain(of.approach_mm_s)}", "0.5 to 3: the last 2 mm down; slow")
    yield _more("enough to react")


def _points(facts: Known) -> Iterator[str]:
    over = ", over the screws" if facts.get("points.over_screws") else ""
    yield f"# --- Named places on the bed where the gap is set and measured{over}"
    yield "points:"
    yield from _places(points(facts), [])


def _places(listed: list[Place], more: list[str]) -> Iterator[str]:
    """One line each, their figures below each other; more: what is behind each."""
    names = _padded(f"{yaml_word(place.name)}," for place in listed)
    across = _padded(f"{plain(place.x_mm)}," for place in listed)
    behind = more or [""] * len(listed)
    for place, name, x_mm, rest in zip(listed, names, across, behind, strict=True):
        yield f"  - {{name: {name} x_mm: {x_mm} y_mm: {plain(place.y_mm)}{rest}}}"


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
    tried = [_raises(facts, screw) for screw in listed]
    pitch = plain(number(facts, "screws.pitch_mm"))
    seen_from = facts["screws.seen_from"]
    yield "screws:"
    yield "  # pitch_mm: how far one turn moves the bed: 0.7 is M4 coarse (ISO 261)"
    yield "  # raises_bed: which way of turning raises the bed there, seen from above;"
    untried = [screw.name for screw, way in zip(listed, tried, strict=True) if way is None]
    if len(untried) < len(listed):
        yield f"  # tried with a quarter turn each by `hostctl begin`, {measured_on.isoformat()}"
    if untried:
        yield f"  # NOT TRIED, so see which way it goes before you rely on it: {', '.join(untried)}"
    yield "  # seen_from: above or below, where one stands when turning"
    yield "  # can_raise_mm: how much further it can raise the bed as it stands; left out: not known"
    yield "  # can_lower_mm: how much further it can lower it; measure both before the bed is levelled"
    behind = [
        f", pitch_mm: {pitch}, raises_bed: {way or Turn.CLOCKWISE.value},\n"
        f"     seen_from: {seen_from}"
        for way in tried
    ]
    yield from _places(listed, behind)


def _raises(facts: Known, screw: Place) -> str | None:
    way = facts.get(f"found.raises.{screw.name}")
    return way if isinstance(way, str) else None


def _indicator(facts: Known, measured_on: date) -> Iterator[str]:
    yield "# --- The dial indicator on the head"
    if "found.reading_z_mm" not in facts:
        yield "# Its heights are not measured yet, so it is left out: hostctl begin"
        return
    on = f"measured by `hostctl begin`, {measured_on.isoformat()}"
    yield f"# Heights {on}, heaters off, bed as its screws stood"
    yield "# then. Measure anew after work on head, mount or bed."
    yield "indicator:"
    x_mm, x_how = _offset(facts, "x", on)
    y_mm, y_how = _offset(facts, "y", on)
    yield _told(
        f"  offset_x_mm: {x_mm}", "where its plunger is, seen from the nozzle (right: plus);"
    )
    yield _more(x_how)
    yield _told(f"  offset_y_mm: {y_mm}", f"(back: plus); {y_how}")
    reading = plain(number(facts, "found.reading_z_mm"))
    yield _told(f"  reading_z_mm: {reading}", "nozzle height at which the plunger rests on the bed")
    yield _more("with its pre-load")
    yield _told(
        f"  pre_load_mm: {_pre_load(facts)}", "0.2 to 1.0: pressed in this far at the reading"
    )
    yield _more("height, so that the plunger is off its stops both ways")
    yield _more("(choice ours; see JIS B 7503 limits)")
    travel = plain(number(facts, "indicator.travel_mm"))
    yield _told(f"  travel_mm: {travel}", "of the plunger. Where the gap is set it is pushed in by")
    yield _more("reading_z_mm + pre_load_mm, which must leave some travel")
    yield _more("over")


def _offset(facts: Known, axis: str, on: str) -> tuple[str, str]:
    """Where the plunger is along an axis, and how that is known."""
    if f"found.offset_{axis}_mm" in facts:
        return plain(number(facts, f"found.offset_{axis}_mm")), on
    return plain(number(facts, f"indicator.rough_{axis}_mm")), "by ruler, to 2 mm or so"


def _pre_load(facts: Known) -> str:
    if "found.pre_load_mm" in facts:
        return plain(number(facts, "found.pre_load_mm"))
    return plain(Indicator.model_fields["pre_load_mm"].default)


def _park() -> Iterator[str]:
    yield "# --- Where the head waits when a run is over (left out: it stays at the clear height)"
    yield "#park: {name: park, x_mm: 0, y_mm: 200}"


def _heat(facts: Known) -> Iterator[str]:
    of = Heat()
    yield "# --- Heat: heaters stay off unless a study asks for a warm bed"
    yield "heat:"
    yield _told(
        f"  longest_s: {plain(of.longest_s)}", "heating that takes longer than this is a fault"
    )
    yield _told(
        f"  hottest_nozzle_c: {plain(of.hottest_nozzle_c)}", "up to 50: hotter than this, no"
    )
    yield _more("run starts: hands are near the nozzle")
    yield _told(
        f"  hottest_bed_c: {plain(of.hottest_bed_c)}", "up to 110: the warmest bed a study may"
    )
    yield _more("ask for; hands work near it, and a bed as warm as that")
    yield _more("burns")
    mains = facts["heat.mains_bed"]
    if mains is None:
        yield _told("  #mains_bed: false", "not known whether the bed is heated by mains voltage:")
        yield _more("nothing is wired at it for a tie")
        return
    yield _told(
        f"  mains_bed: {'true' if mains else 'false'}", "whether the bed is heated by mains"
    )
    yield _more("voltage; only where it is said not to be may the nozzle be")
    yield _more("wired to tie the indicator to it (the maker's manual)")


def _ending() -> Iterator[str]:
    dry = _told(
        f"dry_cycles: {_default('dry_cycles')}", "0 to 10: cycles at the start that are not"
    )
    yield dry
    yield _more("counted, so that grease and screws settle (ISO 230-2 asks")
    yield _more("for a stated warm-up; the number is ours)")
