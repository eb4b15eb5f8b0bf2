"""A result as plain data for strict JSON; `schema.py` says the same of its types.

A record becomes an object with its fields as keys. There is no NaN and no infinity: a number that
can't be had is null, and what is not known yet says why. A reason, and what a deviation is counted
from, are said in the words that people are told.
"""

from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from math import isfinite
from typing import Any

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.claim import Centre
from hostctl.report.document.reasons import CENTRES, reason_words


def plain(value: object) -> Any:
    """The value as objects, lists, strings, numbers, booleans and null."""
    match value:
        case Reason():
            return reason_words(value)
        case Centre():
            return CENTRES[value]
        case Enum():
            return plain(value.value)
        case None | bool() | int() | str():
            return value
        case float():
            return value if isfinite(value) else None
        case date():
            return value.isoformat()
        case _:
            return _several(value)


def _several(value: object) -> Any:
    match value:
        case NotYet():
            return {"not_yet": plain(value.reason), "needs_n": value.needs_n}
        case Mapping():
            return {str(key): plain(item) for key, item in value.items()}
        case _ if is_dataclass(value):
            return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
        case Sequence():
            return [plain(item) for item in value]
        case _ if hasattr(value, "item"):
            return plain(value.item())  # a number of numpy's
        case _:
            raise TypeError(f"{type(value).__name__} has no plain form")
