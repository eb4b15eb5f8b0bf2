"""The JSON Schema of a result's data, made from its type: `data.py` says the same of its values."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import date
from enum import Enum
from inspect import cleandoc
from types import MappingProxyType, NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.claim import Centre
from hostctl.report.document.reasons import CENTRES

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_SIMPLE: dict[object, dict[str, Any]] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": ["number", "null"]},
    NoneType: {"type": "null"},
    date: {"type": "string"},
    Reason: {"type": "string"},
    Centre: {"enum": list(CENTRES.values())},
    object: {},
    Any: {},
}
_NOT_YET = {
    "description": "What can't be said yet: why not, and how many readings it takes, where known.",
    "type": "object",
    "properties": {"not_yet": {"type": "string"}, "needs_n": {"type": ["integer", "null"]}},
    "required": ["not_yet", "needs_n"],
    "additionalProperties": False,
}


@dataclass(frozen=True, slots=True)
class Definitions:
    """What `$defs` will hold. late: types that modules name and load only where needed."""

    late: Mapping[str, type]
    found: dict[str, Any] = field(default_factory=dict)


def schema_of(
    record: type, beside: Mapping[str, Any], late: Mapping[str, type] = MappingProxyType({})
) -> dict[str, Any]:
    """The schema of what `plain` makes of such a record, with the keys that stand `beside` its own.

    late: types that its module names and loads only where they are needed.
    Its records are described in `$defs`, by their names. Raises TypeError for a type that has no
    plain form.
    """
    definitions = Definitions(late)
    whole = _object(record, definitions)
    properties = {**beside, **whole["properties"]}
    return {
        "$schema": DIALECT,
        **whole,
        "properties": properties,
        "required": list(properties),
        "$defs": dict(sorted(definitions.found.items())),
    }


def _of(kind: Any, definitions: Definitions) -> dict[str, Any]:
    if kind in _SIMPLE:
        return dict(_SIMPLE[kind])
    origin, within = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return _any_of([_of(each, definitions) for each in within])
    if origin is Literal:
        return {"enum": list(within)}
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": _of(within[1], definitions)}
    if origin is not None and within:
        return _array(origin, within, definitions)
    if isinstance(kind, type):
        return _named(kind, definitions)
    raise TypeError(f"{kind} has no plain form")


def _array(origin: Any, within: tuple[Any, ...], definitions: Definitions) -> dict[str, Any]:
    if origin is tuple and within[-1] is not Ellipsis:
        each = [_of(one, definitions) for one in within]
        return {"type": "array", "prefixItems": each, "minItems": len(each), "maxItems": len(each)}
    return {"type": "array", "items": _of(within[0], definitions)}


def _any_of(each: list[dict[str, Any]]) -> dict[str, Any]:
    """A union; simple types are put together."""
    if all(set(one) == {"type"} for one in each):
        names = [one["type"] if isinstance(one["type"], list) else [one["type"]] for one in each]
        return {"type": list(dict.fromkeys(name for some in names for name in some))}
    return {"anyOf": each}


def _named(kind: type, definitions: Definitions) -> dict[str, Any]:
    if issubclass(kind, date):
        return dict(_SIMPLE[date])
    found = definitions.found
    if kind.__name__ not in found:
        found[kind.__name__] = {}  # so that a record may hold others of its kind
        found[kind.__name__] = _definition(kind, definitions)
    return {"$ref": f"#/$defs/{kind.__name__}"}


def _definition(kind: type, definitions: Definitions) -> dict[str, Any]:
    if kind is NotYet:
        return _NOT_YET
    if issubclass(kind, Enum):
        return {"description": cleandoc(kind.__doc__ or ""), "enum": [one.value for one in kind]}
    if is_dataclass(kind):
        return _object(kind, definitions)
    raise TypeError(f"{kind.__name__} has no plain form")


def _object(record: type, definitions: Definitions) -> dict[str, Any]:
    hints = get_type_hints(record, localns=dict(definitions.late))
    properties = {one.name: _of(hints[one.name], definitions) for one in fields(record)}
    return {
        "description": cleandoc(record.__doc__ or ""),
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }
