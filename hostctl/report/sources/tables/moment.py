"""Dates as people write them: 2026-10-01, 01.10.2026 with the day first, or 10/01/2026 where
another date of the column shows which comes first.
"""

import re
from collections.abc import Iterable
from datetime import datetime

_DATE = re.compile(r"\d{1,4}([./-])\d{1,2}\1(\d{1,4})?(\s.*)?", re.ASCII | re.DOTALL)
_DAY_FIRST = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})(?=\s|$)", re.ASCII)
_STROKES = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})(?=\s|$)", re.ASCII)
_MONTHS = 12
_HOUR = re.compile(r"(?<=\s)(\d):", re.ASCII)


def is_date(text: str) -> bool:
    """Whether it is written as a date, be its order known or not: 1/10/2026 is one too."""
    return _DATE.fullmatch(text.strip()) is not None


def has_strokes(text: str) -> bool:
    """Whether it is a date such as 01/10/2026, which one alone may not tell the order of."""
    return _STROKES.match(text.strip()) is not None


def day_comes_first(texts: Iterable[str]) -> bool | None:
    """Whether dates with strokes have the day first, as one above 12 shows; None: none shows it,
    or they disagree."""
    first = second = False
    for text in texts:
        if found := _STROKES.match(text.strip()):
            first |= int(found[1]) > _MONTHS
            second |= int(found[2]) > _MONTHS
    return None if first == second else first


def moment(text: str, day_first: bool | None = None) -> datetime:
    """The date, or date and time. Raises ValueError where its order is not known, or for none.

    With points the day comes first wherever people write it so; with strokes it may be the month.
    day_first: whether it does with strokes; None: not known.
    """
    plain = text.strip()
    if found := _DAY_FIRST.match(plain):
        day, month, year = found.groups()
        plain = f"{year}-{month:0>2}-{day:0>2}{plain[found.end() :]}"
    elif day_first is not None and (found := _STROKES.match(plain)):
        day, month = found.group(1, 2) if day_first else found.group(2, 1)
        plain = f"{found[3]}-{month:0>2}-{day:0>2}{plain[found.end() :]}"
    return datetime.fromisoformat(_HOUR.sub(r"0\1:", plain))
