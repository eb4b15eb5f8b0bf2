"""Dates as people write them: 2026-10-01, or 01.10.2026 with the day first."""

import re
from datetime import datetime

_DATE = re.compile(r"\d{1,4}([./-])\d{1,2}\1(\d{1,4})?(\s.*)?", re.ASCII | re.DOTALL)
_DAY_FIRST = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})(?=\s|$)", re.ASCII)
_HOUR = re.compile(r"(?<=\s)(\d):", re.ASCII)


def is_date(text: str) -> bool:
    """Whether it is written as a date, be its order known or not: 1/10/2026 is one too."""
    return _DATE.fullmatch(text.strip()) is not None


def moment(text: str) -> datetime:
    """The date, or date and time. Raises ValueError where its order is not known, or for none.

    With points the day comes first wherever people write it so; with strokes it may be the month.
    """
    plain = text.strip()
    if found := _DAY_FIRST.match(plain):
        day, month, year = found.groups()
        plain = f"{year}-{month:0>2}-{day:0>2}{plain[found.end() :]}"
    return datetime.fromisoformat(_HOUR.sub(r"0\1:", plain))
