"""The keys of a model, each with all that is said of it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, is_dataclass
from enum import Enum
from typing import Any, ClassVar, Literal, get_args, get_origin, get_type_hints

from pydantic import BaseModel, TypeAdapter

from hostctl.reference.allowed import Schema, allowed, may_be_null, plain, referred_to
from hostctl.reference.docstrings import told_below, told_of

Way = Literal["taken", "told"]
"""Whether we take what the model describes (a file, an answer) or tell it (a message)."""
_MODES: Mapping[Way, Literal["validation", "serialization"]] = {
    "taken": "validation",
    "told": "serialization",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key. facts: what it may hold, and what is taken when it is left out."""

    name: str
    facts: str
    says: str
    words: Mapping[str, str] = field(default_factory=dict)  # what each word it may hold means
    sections: tuple["Section", ...] = ()  # several: it holds one of these


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A part with keys of its own. label: the key that tells it from others that may stand here."""

    kind: type
    label: str
    says: str
    keys: tuple[Key, ...]


def sections_of(annotation: Any, way: Way) -> tuple[Section, ...]:
    """All keys of a model or dataclass, with those of the sections in it; several of a union."""
    schema = TypeAdapter(annotation).json_schema(mode=_MODES[way])
    kinds = {each.__name__: each for each in kinds_in(annotation)}
    reader = _Reader(way, kinds, schema.get("$defs", {}))
    if "properties" in schema:
        return (reader.section(annotation, schema),)
    return tuple(reader.section_at(name) for name in referred_to(schema))


def kinds_in(annotation: Any) -> Iterator[type]:
    """Every model, dataclass and enumeration in an annotation, and in what they hold."""
    if get_origin(annotation) is ClassVar:
        return
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        yield annotation
    elif isinstance(annotation, type) and (
        issubclass(annotation, BaseModel) or is_dataclass(annotation)
    ):
        yield annotation
        for inside in get_type_hints(annotation, include_extras=True).values():
            yield from kinds_in(inside)
    for part in get_args(annotation):
        yield from kinds_in(part)


@dataclass(frozen=True, slots=True)
class _Reader:
    way: Way
    kinds: Mapping[str, type]
    definitions: Mapping[str, Schema]

    def section(self, kind: type, schema: Schema) -> Section:
        below, required = told_below(kind), schema.get("required", [])
        keys = tuple(
            self._key(name, found, below.get(name, ""), name in required)
            for name, found in schema["properties"].items()
        )
        fixed = {
            name: str(key["const"]).lower()
            for name, key in schema["properties"].items()
            if "const" in key
        }
        label = ", ".join(f"`{name}` `{word}`" for name, word in fixed.items())
        return Section(
            kind=kind,
            label=label or f"`{keys[0].name}`",
            says=told_of(kind),
            keys=tuple(key for key in keys if key.name not in fixed),
        )

    def section_at(self, name: str) -> Section:
        return self.section(self.kinds[name], self.definitions[name])

    def _key(self, name: str, schema: Schema, says: str, required: bool) -> Key:
        found = plain(schema)
        names = referred_to(found)
        if not names:
            facts = self._facts(allowed(name, schema), schema, required)
            return Key(name=name, facts=facts, says=says, words=schema.get("x-words", {}))
        kind = self.kinds[names[0]]
        says = says or told_of(kind)
        if issubclass(kind, Enum):
            facts = self._facts(allowed(name, self.definitions[names[0]]), schema, required)
            below = told_below(kind)
            words = {str(word.value): below[word.name] for word in kind if word.name in below}
            return Key(name=name, facts=facts, says=says, words=words)
        what = allowed(name, found) if "items" in found else "section"
        facts = self._facts(what, schema, required, section=True)
        sections = tuple(self.section_at(each) for each in names)
        return Key(name=name, facts=facts, says=says, sections=sections)

    def _facts(self, what: str, schema: Schema, required: bool, *, section: bool = False) -> str:
        if self.way == "told":
            return f"{what}, or null" if may_be_null(schema) else what
        if required:
            return f"{what}; required"
        if section and "x-left_out" not in schema:
            return f"{what}; may be left out"
        return f"{what}; left out: {schema.get('x-left_out') or _value(schema.get('default'))}"


def _value(default: object) -> str:
    match default:
        case None | []:
            return "none"
        case bool():
            return str(default).lower()
        case float():
            return f"{default:g}"
        case int():
            return str(default)
        case _:
            return f"`{default}`"
