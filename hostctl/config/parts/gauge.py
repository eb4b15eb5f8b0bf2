"""The gauge of a study: where a reading comes from."""

from enum import StrEnum
from typing import Annotated

from pydantic import AfterValidator, Field

from hostctl.config.checked import Checked, Name, PositiveMm, Told
from hostctl.config.parts.line_pattern import line_pattern


class Unit(StrEnum):
    """What an indicator counts in."""

    MM = "mm"
    """Millimetres."""
    UM = "um"
    """Micrometres."""
    IN = "in"
    """Inches."""


def _checked_pattern(text: str) -> str:
    line_pattern(text)
    return text


def _checked_request(text: str) -> str:
    if not text.isascii():
        raise ValueError("is to be plain ASCII")
    return text


class IndicatorLine(Checked):
    """How an indicator talks that sends, and when its number counts as settled."""

    pattern: Annotated[
        Annotated[str, AfterValidator(_checked_pattern)] | None,
        Told(
            allowed="a regular expression with one group, or one called `number`",
            left_out="the line's last number",
        ),
    ] = None
    """Looked for within each line; its group holds the number, without the unit. Each repeat
    takes all it can and gives nothing back; `.` is not repeated."""
    unit: Unit = Unit.MM
    """What it counts in, where the line itself names no unit that is understood. Of a
    `typing-indicator` too."""
    request: Annotated[
        Annotated[str, Field(min_length=1, max_length=20), AfterValidator(_checked_request)] | None,
        Told(allowed='up to 20 letters, as "?\\r"', left_out="it sends by itself"),
    ] = None
    """What is sent to it for each number, to the letter."""
    alike: Annotated[int, Field(ge=2, le=20), Told(unit="readings")] = 3
    """It has settled once so many in a row are alike; the last of them is the reading. One that
    is restless for long wants more: simulated, with noise of fifty graduations that halves every
    four lines, 3 alike were off by over a graduation in 29 of 100, 5 in 4, 8 in 0.3."""
    within_s: Annotated[float, Field(gt=0, le=60)] = 5.0
    """If it has not settled within this, nothing is read."""
    alike_to_mm: Annotated[PositiveMm | None, Told(left_out="one graduation")] = None
    """Alike: the highest of them is above the lowest by no more than this."""


class Gauge(Checked):
    """Where a reading comes from."""

    kind: Annotated[
        Name,
        Told(allowed="`typed`, `probe`, `serial-indicator`, `typing-indicator` or a plug-in's"),
    ] = "typed"
    """What gives the reading; typed: the operator, off the indicator; typing-indicator: a cable
    that types what the indicator shows, as a keyboard would."""
    resolution_mm: PositiveMm = 0.01
    """One graduation; readings are treated as rounded to it."""
    typed_in_graduations: bool = False
    """True: 2 is typed for two graduations."""
    plausible_mm: PositiveMm = 0.5
    """A reading further from zero than this is asked for again."""
    block_mm: Annotated[float, Field(ge=0, le=20)] = 0.0
    """The height of the gauge block of reference `datum`, required there unless a probe gives the
    reading; it must go under the free plunger at the clear height, so be below the machine's
    `highest_point_mm` + `lift_mm` - `pre_load_mm`."""
    port: Annotated[str | None, Told(allowed="a device or a URL")] = None
    """Of an indicator on a serial line of its own; `serial-indicator` needs it."""
    baud: Annotated[int, Field(ge=300), Told(unit="bits/s")] = 9_600
    """Speed of that line."""
    line: IndicatorLine = IndicatorLine()
    device: Annotated[str | None, Told(allowed="a path below `/dev/input/by-id/`, say")] = None
    """Of a cable that types like a keyboard; `typing-indicator` needs it. It is held alone: what
    it types goes nowhere else."""


def names_of(one: Gauge, other: Gauge) -> tuple[str, str]:
    """What two gauges are called on record: their kinds, numbered where these are the same."""
    kinds = one.kind, other.kind
    return kinds if one.kind != other.kind else (f"{one.kind}-1", f"{other.kind}-2")
