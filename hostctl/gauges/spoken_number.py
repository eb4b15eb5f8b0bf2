"""The number in a line of text from an indicator. Liberal: makers differ, numbers don't."""

import re

MM_PER_INCH = 25.4
"""Exactly, by definition of the inch (ISO 80000-3)."""

_NUMBER = re.compile(
    r"(?:(?<![\w.,])|(?=[-+]))([-+]?)\s*([0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\s*(mm|inch|in|\")?(?![\w.,])",
    re.IGNORECASE,
)


def number_in(line: str) -> float | None:
    """The last number in `line`, mm; None when there is none.

    Millimetres unless it says `in`, `inch` or `"`. A decimal comma is understood.
    """
    found = list(_NUMBER.finditer(line))
    if not found:
        return None
    sign, digits, unit = found[-1].groups()
    value = float(digits.replace(",", ".")) * (-1.0 if sign == "-" else 1.0)
    return value * MM_PER_INCH if unit and unit.lower() != "mm" else value
