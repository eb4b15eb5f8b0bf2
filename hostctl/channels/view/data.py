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
        if value is None and NoneType in arguments:
            return None
        return _record(_of_several(arguments, value), value)
    if origin is Literal and value in arguments:
        return value
    if origin is tuple and isinstance(value, list):
        return tuple(_record(arguments[0], each) for each in value)
    if isinstance(hint, type):
        return _of_one(hint, value)
    raise ValueError(f"{value!r} is no {hint}")


def _of_one(kind: type, value: object) -> object:
    if is_dataclass(kind) and isinstance(value, Mapping):
        return from_data(kind, value)
    if issubclass(kind, Enum):
        return kind(value)
    if kind is datetime and isinstance(value, str):
        return datetime.fromisoformat(value)
    if kind is float and type(value) is int:
        return float(value)
    if type(value) is kind:
        return value
    raise ValueError(f"{value!r} is no {kind.__name__}")


def _of_several(kinds: tuple[Any, ...], value: object) -> Any:
    """Which kind of a union it is; records say it in the fields that nobody gives."""
    named = [each for each in kinds if each is not NoneType]
    if len(named) > 1:
        named = [each for each in named if isinstance(value, Mapping) and _says(each, value)]
    if len(named) != 1:
        raise ValueError(f"{value!r} is none of {kinds}")
    return named[0]


def _says(kind: Any, data: Mapping[str, object]) -> bool:
    given = {each.name: each.default for each in fields(kind) if not each.init}
    return bool(given) and all(data.get(name) == default for name, default in given.items())
