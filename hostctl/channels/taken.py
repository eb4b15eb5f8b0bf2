"""What other programs send us as JSON: strict models, and one line on why something fits none."""

from codecs import BOM_UTF8
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails, from_json

_T = TypeVar("_T")


class Taken(BaseModel):
    """An object that is taken: no key unknown, no value made into one of another type.

    A string below a key says what the key means, as in the files.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Fault(StrEnum):
    """What is wrong with a line, in words that follow "it is" or go before a key."""

    NOT_JSON = "not JSON"
    TOO_DEEP = "too deep"
    NOT_AN_OBJECT = "not a JSON object"
    NO_KIND = "of no known kind"  # the key that tells the kind is missing, or holds another word
    UNKNOWN_KEY = "unknown key"
    MISSING_KEY = "missing key"
    WRONG_VALUE = "wrong value"


NO_OBJECT = frozenset({Fault.NOT_JSON, Fault.TOO_DEEP, Fault.NOT_AN_OBJECT})


@dataclass(frozen=True, slots=True)
class Misfit:
    """Why a line is not taken: one fault, in one line.

    said: the object in the line, empty where there is none. kind, key: which kind it was to be, and
    which key of it is wrong; empty where it is none.
    """

    fault: Fault
    reason: str
    said: Mapping[str, object]
    kind: str = ""
    key: str = ""


def taken_from(line: bytes, kinds: TypeAdapter[_T]) -> _T | Misfit:
    """The line as one of `kinds`, else the most telling of its faults. Never raises."""
    text = line.removeprefix(BOM_UTF8)  # with which some programs begin what they write
    try:
        return kinds.validate_json(text)
    except ValidationError as invalid:
        return _misfit(most_telling(invalid), text)


def most_telling(invalid: ValidationError) -> ErrorDetails:
    """Of all that is wrong the one to tell."""
    return min(invalid.errors(include_url=False, include_input=False), key=_how_dull)


_UNKNOWN = ("extra_forbidden", "unexpected_keyword_argument")
_FAULTS = {
    "missing": Fault.MISSING_KEY,
    **dict.fromkeys(_UNKNOWN, Fault.UNKNOWN_KEY),
    **dict.fromkeys(("union_tag_not_found", "union_tag_invalid"), Fault.NO_KIND),
    **dict.fromkeys(("model_type", "dict_type"), Fault.NOT_AN_OBJECT),
}
_DEMANDS = {
    "string_type": "is not text",
    "int_type": "is not a whole number",
    "float_type": "is not a number",
    "finite_number": "must be a finite number",
    "greater_than_equal": "must be at least {ge}",
    "less_than_equal": "must be at most {le}",
}


def _how_dull(error: ErrorDetails) -> int:
    """A wrong value tells more than an unknown key, and that more than a missing one."""
    return 2 if error["type"] == "missing" else 1 if error["type"] in _UNKNOWN else 0


def _misfit(error: ErrorDetails, text: bytes) -> Misfit:
    fault = _fault(error)
    if fault in NO_OBJECT:
        return Misfit(fault, f"it is {fault}", {})
    said = from_json(text)
    if fault is Fault.NO_KIND:
        return Misfit(fault, f"it is {fault}", said)
    kind, key = str(error["loc"][0]), _shown(str(error["loc"][-1]))
    reason = _demand(key, error) if fault is Fault.WRONG_VALUE else f"{fault} '{key}'"
    return Misfit(fault, reason, said, kind, key)


def _fault(error: ErrorDetails) -> Fault:
    if error["type"] == "json_invalid":
        return Fault.TOO_DEEP if "recursion limit" in error["msg"] else Fault.NOT_JSON
    return _FAULTS.get(error["type"], Fault.WRONG_VALUE)


def _demand(key: str, error: ErrorDetails) -> str:
    bounds = {name: _plain(bound) for name, bound in error.get("ctx", {}).items()}
    return f"{key} {_DEMANDS.get(error['type'], 'is not allowed').format(**bounds)}"


def _plain(bound: object) -> str:
    return f"{bound:.10g}" if isinstance(bound, float) else str(bound)


def _shown(key: str) -> str:
    """A key that somebody else made up, as it may stand in one line."""
    return "".join(sign if sign.isprintable() else "?" for sign in key[:40])
