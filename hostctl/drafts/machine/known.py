"""What earlier answers about a machine come to, for the questions that follow and for its file."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from functools import cache
from math import ceil, floor
from typing import Any, Literal

from hostctl.config.checked import NAME_WORDS
from hostctl.config.machine import Machine
from hostctl.drafts.question import Unclear, Value
from hostctl.drafts.study.answers import as_name, is_name

Known = Mapping[str, Value]
Axis = Literal["x", "y", "z"]
Kind = Literal["screws", "points"]

ROUGH_MM = 3.0
"""A length from nozzle to plunger by ruler and eye may be off by so much (choice ours)."""


def number(known: Known, key: str) -> float:
    """A number that was answered. Raises KeyError where it was not."""
    value = known[key]
    if not isinstance(value, int | float):
        raise KeyError(key)
    return float(value)


def figure(value: float) -> str:
    """The shortest figure that is read back as exactly this one: `30`, `0.7`."""
    return repr(float(value) + 0.0).removesuffix(".0")


@cache
def _keys() -> dict[str, dict[str, Any]]:
    """What a machine file may hold, by key."""
    keys: dict[str, dict[str, Any]] = Machine.model_json_schema()["properties"]
    return keys


def bounds(key: str) -> tuple[float, float]:
    """Least and most that a machine file may have there."""
    return _keys()[key]["minimum"], _keys()[key]["maximum"]


def check_name(value: Value, otherwise: str, taken: Collection[str], what: str) -> None:
    """Raises Unclear where it is no name, or `what` is called so already."""
    text = str(value)
    if not is_name(text):
        raise Unclear(f"Names are {NAME_WORDS}: type it like {as_name(text) or otherwise}.")
    if text in taken:
        raise Unclear(f"{what} is called '{text}' already: give this one another name.")


def unless_refused(suggested: str, check: Callable[[Value], None]) -> str:
    """What is suggested, unless it would be refused."""
    try:
        check(float(suggested))
    except ValueError:
        return ""
    return suggested


@dataclass(frozen=True, slots=True)
class Reach:
    """From where to where along one axis, mm."""

    from_mm: float
    to_mm: float

    def __contains__(self, at_mm: float) -> bool:
        return self.from_mm <= at_mm <= self.to_mm

    def __str__(self) -> str:
        return f"{figure(self.from_mm)} to {figure(self.to_mm)} mm"

    @property
    def length_mm(self) -> float:
        """How long it is; negative: there is none."""
        return self.to_mm - self.from_mm

    def mirrored(self, at_mm: float) -> float:
        """As far from its other end, to a micrometre."""
        return round(self.from_mm + self.to_mm - at_mm, 3)

    def part(self, share: float) -> float:
        """So far along it, in whole millimetres where it has one there."""
        at_mm = float(round(self.from_mm + share * self.length_mm))
        return min(max(at_mm, self.from_mm), self.to_mm)


def travel(known: Known, axis: Axis) -> Reach:
    """Where the nozzle may go. Raises KeyError where that was not answered."""
    return Reach(number(known, f"travel.{axis}.from_mm"), number(known, f"travel.{axis}.to_mm"))


def plunger_reach(known: Known, axis: Axis) -> Reach:
    """Where a point may lie: within the travel and within the plunger's reach.

    Its place by ruler has `ROUGH_MM` to spare, until it is measured. Raises KeyError where travel
    or plunger's place are not known.
    """
    found = f"found.offset_{axis}_mm"
    if found in known:
        return reach_with(travel(known, axis), number(known, found), 0.0)
    return reach_with(travel(known, axis), number(known, f"indicator.rough_{axis}_mm"))


def reach_with(whole: Reach, offset_mm: float, spared_mm: float = ROUGH_MM) -> Reach:
    """The same for a plunger so far from the nozzle; its ends are whole micrometres."""
    lowest_mm = ceil(1000 * (whole.from_mm + offset_mm + spared_mm)) / 1000
    highest_mm = floor(1000 * (whole.to_mm + offset_mm - spared_mm)) / 1000
    return Reach(max(whole.from_mm, lowest_mm), min(whole.to_mm, highest_mm))


@dataclass(frozen=True, slots=True)
class Place:
    """A named place of the bed: a screw's, or a point."""

    name: str
    x_mm: float
    y_mm: float


def places(known: Known, kind: Kind, before: int | None = None) -> list[Place]:
    """Those that were answered in full, in order; before: those alone that come before this one."""
    found = []
    for index in range(round(number(known, f"{kind}.count")) if before is None else before):
        at = f"{kind}.{index}"
        if f"{at}.name" in known:
            x_mm, y_mm = number(known, f"{at}.x_mm"), number(known, f"{at}.y_mm")
            found.append(Place(str(known[f"{at}.name"]), x_mm, y_mm))
    return found


def points(known: Known) -> list[Place]:
    """Where it is to be measured: over the screws, or at places of their own."""
    return places(known, "screws" if known.get("points.over_screws") else "points")


def place_name(known: Known, x_mm: float, y_mm: float) -> str:
    """What a place is called by where it lies: `front-left`, `back`, `middle`."""
    along = _third(travel(known, "y"), y_mm, "front", "back")
    across = _third(travel(known, "x"), x_mm, "left", "right")
    return "-".join(word for word in (along, across) if word) or "middle"


def _third(whole: Reach, at_mm: float, low: str, high: str) -> str:
    share = (at_mm - whole.from_mm) / whole.length_mm
    return low if share < 0.4 else high if share > 0.6 else ""
