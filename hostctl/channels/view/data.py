"""Frozen records as plain JSON data, and back: the one way in which a view leaves the program."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from hostctl.report.document.data import plain

Json = dict[str, object]
Record = TypeVar("Record")


def as_data(record: object) -> Json:
    """The record's fields by name; times in ISO 8601, what is nested likewise."""
    return {field.name: plain(getattr(record, field.name)) for field in fields(record)}  # type: ignore[arg-type] # a dataclass


def from_data(kind: type[Record], data: Mapping[str, object]) -> Record:
    """The record that `as_data` gave this for. Keys that it does not know are passed over.

    Raises ValueError where the data are not of this kind.
    """
    hints = get_type_hints(kind)
    known = {each.name for each in fields(kind) if each.init}  # type: ignore[arg-type] # a dataclass
    given = {key: _record(hints[key], value) for key, value in data.items() if key in known}
    try:
        return kind(**given)
    except TypeError as cause:
        raise ValueError(f"{kind.__name__}: {cause}") from cause


def _record(hint: Any, value: object) -> object:
    """The value as the type hint has it."""
    arguments, origin = get_args(hint), get_origin(hint)
    if origin in (Union, UnionType):
        return None if value is None else _record(_of_several(arguments, value), value)
    if origin is Literal:
        return _one_of(arguments, value)
    if origin is tuple and isinstance(value, list):
        return tuple(_record(arguments[0], each) for each in value)
    if is_dataclass(hint) and isinstance(value, Mapping) and isinstance(hint, type):
        return from_data(hint, value)
    if hint is datetime and isinstance(value, str):
        return datetime.fromisoformat(value)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return hint(value)
    if hint is float and type(value) is int:
        return float(value)
    if type(value) is hint:
        return value
    raise ValueError(f"{value!r} is no {hint}")


def _of_several(kinds: tuple[Any, ...], value: object) -> Any:
    """Which kind of a union it is: there is but one beside None."""
    (kind,) = (each for each in kinds if each is not NoneType)
    return kind


def _one_of(allowed: tuple[Any, ...], value: object) -> object:
    if value not in allowed:
        raise ValueError(f"{value!r} is none of {allowed}")
    return value
