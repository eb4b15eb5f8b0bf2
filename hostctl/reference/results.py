"""The keys of what a question's `--json` gives, each with what is said of it.

Only those at the top; the JSON Schema, off which they are read, has the rest.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from hostctl.reference.allowed import Schema, allowed, one_of
from hostctl.reference.docstrings import told_in_docstring
from hostctl.reference.lines import bullet
from hostctl.report.document.question import Question
from hostctl.report.schemas import QUESTIONS

RESULTS: Mapping[str, Question[Any]] = {f"{each.name}-result": each for each in QUESTIONS}
"""The lists of keys: of which question's data."""
OF_ALL = ("question", "version", "answer", "cautions")
"""The keys that each of them has; the prose tells them."""


def result_lines(question: Question[Any]) -> str:
    """Every key of its own, with the meaning of its name or, where none is told, of its kind."""
    return "\n".join(
        bullet(f"`{name}` ({facts}): {says}") for name, facts, says in keys_of_result(question)
    )


def keys_of_result(question: Question[Any]) -> Iterator[tuple[str, str, str]]:
    """Each key: its name, what it holds, what is said of it."""
    schema = question.schema()
    told = told_in_docstring(question.result)
    for name, found in schema["properties"].items():
        if name not in OF_ALL:
            kinds = [kind for kind in _kinds(found) if kind.get("type") != "null"]
            words = [_holds(name, kind, schema["$defs"]) for kind in kinds]
            if len(kinds) < len(_kinds(found)):
                words.append("null")
            says = (
                told.get(name) or found.get("description") or _of_its_kind(found, schema["$defs"])
            )
            yield name, ", or ".join(words), re.sub(r"\bNone\b", "null", says)


def _kinds(schema: Schema) -> list[Schema]:
    if isinstance(types := schema.get("type"), list):
        return [{**schema, "type": each} for each in types]
    return list(schema.get("anyOf", [schema]))


def _holds(name: str, schema: Schema, definitions: Schema) -> str:
    if "items" in schema:
        return f"list of {_holds(name, schema['items'], definitions)}"
    if "$ref" not in schema:
        return allowed(name, schema)
    kind = schema["$ref"].rpartition("/")[2]
    return one_of(definitions[kind]) if "enum" in definitions[kind] else f"`{kind}`"


def _of_its_kind(schema: Schema, definitions: Schema) -> str:
    """What is said of the kind it refers to (of several: the first), but for its fields."""
    kinds = re.findall(r"#/\$defs/(\w+)", str(schema))
    told = " ".join(definitions[kinds[0]]["description"].split()) if kinds else ""
    return re.split(r"(?: \w+,)* \w+: ", told)[0]
