"""What earlier answers about a machine come to, for the questions that follow and for its file."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal

from hostctl.config.checked import NAME_WORDS
from hostctl.config.machine import Machine
from hostctl.drafts.question import Unclear, Value

Known = Mapping[str, Value]
Axis = Literal["x", "y", "z"]
Kind = Literal["screws", "points"]

ROUGH_MM = 3.0
"""A length from nozzle to plunger by ruler and eye may be off by so much (choice ours)."""

_KEYS = Machine.model_json_schema()["properties"]


def number(known: Known, key: str) -> float:
    """A number that was answered. Raises KeyError where it was not."""
    value = known[key]
    if not isinstance(value, int | float):
        raise KeyError(key)
    return float(value)


def plain(value: float) -> str:
    """The shortest figure that is read back as exactly this one: `30`, `0.7`."""
    return repr(float(value) + 0.0).removesuffix(".0")


def bounds(key: str) -> tuple[float, float]:
    """Least and most that a machine file may have there."""
    return _KEYS[key]["minimum"], _KEYS[key]["maximum"]


def is_name(text: str) -> bool:
    """Whether it may be a name in a machine file."""
    return re.fullmatch(_KEYS["machine"]["pattern"].removesuffix("$"), text) is not None


def check_name(value: Value, otherwise: str, taken: Collection[str], what: str) -> None:
    """Raises Unclear where it is no name, or `what` is called so already."""
    text = str(value)
    if not is_name(text):
        like = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40].strip("-") or otherwise
        raise Unclear(f"Names are {NAME_WORDS}: type it like {like}.")
    if text in taken:
        raise Unclear(f"{what} is called '{text}' already: give this one another name.")


def apart_from(taken: Collection[str], name: str) -> str:
    """The name, or with a number behind it the first that is not taken."""
    found, count = name, 2
    while found in taken:
        found, count = f"{name}-{count}", count + 1
    return found


@dataclass(frozen=True, slots=True)
class Reach:
    """From where to where along one axis, mm."""

    from_mm: float
    to_mm: float

    def __contains__(self, at_mm: float) -> bool:
        return self.from_mm <= at_mm <= self.to_mm

    def __str__(self) -> str:
        return f"{plain(self.from_mm)} to {plain(self.to_mm)} mm"

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
    """Where a point may lie: within the travel and, `ROUGH_MM` spared, within the plunger's reach.

    Raises KeyError where travel or plunger's place were not answered.
    """
    return reach_with(travel(known, axis), number(known, f"indicator.rough_{axis}_mm"))


def reach_with(whole: Reach, offset_mm: float) -> Reach:
    """The same for a plunger so far from the nozzle."""
    return Reach(
        round(max(whole.from_mm, whole.from_mm + offset_mm + ROUGH_MM), 3),
        round(min(whole.to_mm, whole.to_mm + offset_mm - ROUGH_MM), 3),
    )


@dataclass(frozen=True, slots=True)
class Place:
    """A named place of the bed: a screw's, or a point."""

    name: str
    x_mm: float
    y_mm: float


def places(known: Known, kind: Kind) -> list[Place]:
    """Those that were answered in full, in order."""
    found = []
    for index in range(round(number(known, f"{kind}.count"))):
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
