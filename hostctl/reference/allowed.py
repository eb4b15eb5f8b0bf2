"""What a key may hold, in words, off the JSON Schema of its model."""

from collections.abc import Mapping
from typing import Any

from hostctl.reference.units import unit_of

Schema = Mapping[str, Any]


def plain(schema: Schema) -> dict[str, Any]:
    """The schema of what is given, where null may be given too; what is told beside it kept."""
    given = [part for part in schema.get("anyOf", []) if part.get("type") != "null"]
    return {**given[0], **schema} if len(given) == 1 else dict(schema)


def may_be_null(schema: Schema) -> bool:
    """Whether null is told or taken too."""
    return any(part.get("type") == "null" for part in schema.get("anyOf", []))


def referred_to(schema: Schema) -> list[str]:
    """The names of the parts that may stand here: one, or each of several."""
    parts = [schema, schema.get("items", {}), *schema.get("oneOf", []), *schema.get("anyOf", [])]
    names = [part["$ref"].rpartition("/")[2] for part in parts if "$ref" in part]
    return list(dict.fromkeys(names))


def allowed(name: str, schema: Schema) -> str:
    """What the key called `name` may hold: its unit first, where it is a number."""
    found = plain(schema)
    if words := found.get("x-allowed"):
        return str(words)
    match found.get("type"):
        case "boolean":
            return str(found.get("const", "true or false")).lower()
        case "integer" | "number" as kind:
            return _number(kind, found.get("x-unit") or unit_of(name), found)
        case "array":
            return _list(name, found)
        case "string" if "const" in found or "enum" in found:
            return one_of(found)
        case "string" if found.get("format") == "date-time":
            return "date and time, ISO 8601, UTC"
        case "string":
            return _text(found)
        case "object":
            return "object"
        case None if "enum" in found:
            return one_of(found)
        case other:
            raise ValueError(f"{name}: no words are known for {other or sorted(found)}")


def one_of(schema: Schema) -> str:
    """The words that may be given."""
    words = [f"`{word}`" for word in schema.get("enum", [schema.get("const")])]
    return " or ".join([", ".join(words[:-1]), words[-1]]) if words[1:] else words[0]


def _number(kind: str, unit: str | None, schema: Schema) -> str:
    bounds = [
        f"{words} {_short(schema[bound])}"
        for bound, words in (
            ("exclusiveMinimum", "above"),
            ("minimum", "at least"),
            ("exclusiveMaximum", "below"),
            ("maximum", "at most"),
        )
        if bound in schema
    ]
    if "minimum" in schema and "maximum" in schema:
        bounds = [f"{_short(schema['minimum'])} to {_short(schema['maximum'])}"]
    whole = "whole number" if kind == "integer" else "" if bounds else "any number"
    return ", ".join(part for part in (unit, whole, *bounds) if part)


def _short(bound: float) -> str:
    return str(bound) if isinstance(bound, int) else f"{bound:.10g}"


def _list(name: str, schema: Schema) -> str:
    least, most = schema.get("minItems", 0), schema.get("maxItems")
    of = "" if "$ref" in schema["items"] else f" of {allowed(name, schema['items'])}"
    many = f"of {most}, each" if most and most == least else "at least one" if least else ""
    return f"list {many}{of}" if most else ", ".join(filter(None, (f"list{of}", many)))


def _text(schema: Schema) -> str:
    least, most = schema.get("minLength", 0), schema.get("maxLength")
    return f"text, {least} to {most} characters" if most else "text"
