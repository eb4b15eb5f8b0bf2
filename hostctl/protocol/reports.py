"""What a controller reports of itself: places, temperatures, touches. One grammar for all forms.

A report is a row of words, a word is a label, a colon and a number:

    report  =  [ "//" ] [ "C:" ] { word | "Count" } [ rest ]
    word    =  label ":" number [ "/" number ]
    label   =  letter [ digit ]

Blanks and commas may stand between any two of these, or nowhere; letters may be large or small;
axes come in any order; decimals may be missing. What comes first for an axis is its place; what
follows `Count`, wherever it stands, is steps, one word an axis.

Strict in one thing: a number must stand whole, and each axis once, since a reply carries no
checksum and half a number is worse than none.
"""

import re
from typing import NamedTuple

from hostctl.protocol.events import PositionReported, ProbeResult, TemperatureReported

AXES = frozenset("XYZ")

_NUMBER = r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)"
_END = r"(?=[\s,/@]|[A-Za-z]\d?\s*[:@]|Count\b|$)"
_WORD = re.compile(
    rf"[\s,]*([A-Za-z]\d?)\s*:\s*({_NUMBER}){_END}(?:\s*/\s*({_NUMBER}){_END})?", re.IGNORECASE
)
_COUNT = re.compile(r"[\s,]*Count\b[\s,]*", re.IGNORECASE)
_PLACE_BEGINS = re.compile(r"(?://\s*)?(?:C:\s*)?(?=(?:Count\b|[XYZE]\s*:))", re.IGNORECASE)
_HEAT_BEGINS = re.compile(r"(?://\s*)?(?=(?:T0?|B)\s*:)", re.IGNORECASE)
_TOUCH_BEGINS = re.compile(r"(?://\s*)?Bed\b[^:]*?(?=\b[XYZ]\s*:)", re.IGNORECASE)
_TOUCH_IN_WORDS = re.compile(
    rf"(?://\s*)?probe at\s*({_NUMBER})\s*,\s*({_NUMBER})\s+is\s+z\s*=\s*({_NUMBER})\s*$",
    re.IGNORECASE,
)
_HEAT = re.compile(
    rf"(?<![A-Za-z@])(T0?|B)\s*:\s*({_NUMBER}){_END}(?:\s*/\s*({_NUMBER}){_END})?", re.IGNORECASE
)

Report = PositionReported | TemperatureReported | ProbeResult


class _Place(NamedTuple):
    x_mm: float
    y_mm: float
    z_mm: float
    ends_at: int
    """Where in the text what belongs to it ends."""


def report_in(text: str) -> Report | None:
    """The report that `text` is; None where it is none, or a damaged one."""
    if begins := _PLACE_BEGINS.match(text):
        place = _place_in(text, begins.end())
        if place is None:
            return None
        return PositionReported(x_mm=place.x_mm, y_mm=place.y_mm, z_mm=place.z_mm)
    if begins := _HEAT_BEGINS.match(text):
        return _heat_in(text, begins.end())
    if begins := _TOUCH_BEGINS.match(text):
        place = _place_in(text, begins.end())
        if place is None or text[place.ends_at :].strip():
            return None
        return ProbeResult(x_mm=place.x_mm, y_mm=place.y_mm, z_mm=place.z_mm)
    if told := _TOUCH_IN_WORDS.match(text):
        return ProbeResult(x_mm=float(told[1]), y_mm=float(told[2]), z_mm=_plain(told[3]))
    return None


def _place_in(text: str, at: int) -> _Place | None:
    """The first x, y and z that are no steps; None where one is missing or comes twice before."""
    place: dict[str, float] = {}
    steps: set[str] | None = None
    while not place.keys() >= AXES:
        if count := _COUNT.match(text, at):
            steps, at = set(), count.end()
            continue
        word = _WORD.match(text, at)
        if word is None:
            return None
        axis, at = word[1].upper(), word.end()
        if steps is not None and axis not in steps:
            steps.add(axis)
            continue
        steps = None
        if axis in place:
            return None
        place[axis] = _plain(word[2])
    return _Place(place["X"], place["Y"], place["Z"], at)


def _heat_in(text: str, at: int) -> TemperatureReported | None:
    heats: dict[str, tuple[float, float | None]] = {}
    for found in _HEAT.finditer(text, at):
        part = found[1].upper()[0]
        heats.setdefault(part, (float(found[2]), float(found[3]) if found[3] else None))
    if not heats:
        return None
    nozzle_c, nozzle_target_c = heats.get("T", (None, None))
    bed_c, bed_target_c = heats.get("B", (None, None))
    return TemperatureReported(
        nozzle_c=nozzle_c,
        nozzle_target_c=nozzle_target_c,
        bed_c=bed_c,
        bed_target_c=bed_target_c,
    )


def _plain(number: str) -> float:
    return float(number) + 0.0  # never -0.0
