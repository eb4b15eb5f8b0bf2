"""The number in a line of text from an indicator, mm.

Without a pattern of the user's it is liberal: makers differ, numbers don't. Where an indicator
says that it has no reading (beyond its range, a fault, an empty cell), no number is taken for one.
"""

import re
from collections.abc import Callable

from hostctl.config.parts.gauge import IndicatorLine, Unit
from hostctl.config.parts.line_pattern import found_by, line_pattern

MM_PER_INCH = 25.4
"""Exactly, by definition of the inch (ISO 80000-3)."""

MM_PER_UNIT = {Unit.MM: 1.0, Unit.UM: 1e-3, Unit.IN: MM_PER_INCH}

_NUMBER = re.compile(
    r"(?:(?<![\w.,])|(?=[-+]))([-+]?)\s*([0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\s*"
    r"(mm|um|[uµμ\ufffd]m|inch|in|\")?(?![\w.,])",
    re.IGNORECASE,
)
_SPOKEN_UNITS = {"mm": Unit.MM, "inch": Unit.IN, "in": Unit.IN, '"': Unit.IN, "um": Unit.UM}
_NO_READING = re.compile(r"err|fault|over|under|low|----", re.IGNORECASE)
"""How indicators say so (common practice, no source)."""
_PLAIN = re.compile(r"([-+]?)\s*([0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)")

Number = Callable[[str], float | None]


def number_of(line: IndicatorLine) -> Number:
    """What finds the number in a line, mm: by the user's pattern where there is one."""
    if line.pattern is None:
        return lambda text: number_in(text, line.unit)
    pattern, mm = line_pattern(line.pattern), MM_PER_UNIT[line.unit]

    def by_pattern(text: str) -> float | None:
        found = found_by(pattern, text)
        value = None if found is None else plain_number(found)
        return None if value is None else value * mm

    return by_pattern


def number_in(line: str, unit: Unit = Unit.MM) -> float | None:
    """The last number in `line`, mm; None when there is none.

    In `unit` unless it says `mm`, `um`, `in`, `inch` or `"`. A decimal comma is understood.
    """
    found = list(_NUMBER.finditer(line))
    if not found or _NO_READING.search(line):
        return None
    sign, digits, spoken = found[-1].groups()
    if spoken:
        unit = _SPOKEN_UNITS.get(spoken.lower(), Unit.UM)
    return _value(sign, digits) * MM_PER_UNIT[unit]


def plain_number(text: str) -> float | None:
    """`text` as a number, blanks around it and after its sign left out; None where it is none."""
    match = _PLAIN.fullmatch(text.strip())
    return None if match is None else _value(match[1], match[2])


def _value(sign: str, digits: str) -> float:
    return float(digits.replace(",", ".")) * (-1.0 if sign == "-" else 1.0)
