"""A file to a checked object: every mistake of the file in one go, each with its line."""

import json
import re
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import Path
from types import UnionType
from typing import TYPE_CHECKING, Annotated, Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from hostctl.config.checked import NAME_WORDS, Checked, Misplaced
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.config.yaml_text import Document, Key, Source, parse
from hostctl.errors import ConfigError

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

Model = TypeVar("Model", bound=Checked)


class FileMistakes(ConfigError):
    """All that is wrong with a file, one line each."""

    def __init__(self, mistakes: Iterable[ConfigError]) -> None:
        self.mistakes = tuple(mistakes)
        first = self.mistakes[0]
        super().__init__(first.where, first.what, first.next_step)

    def __str__(self) -> str:
        return "\n".join(str(mistake) for mistake in self.mistakes)


def load_machine(path: Path) -> Machine:
    """The machine file at `path`. Raises ConfigError (FileMistakes when there are several)."""
    return machine_from(Source.of(path))


def machine_from(source: Source) -> Machine:
    """A machine from its text; a resumed run reads the text kept with it."""
    return check(Machine, source)


def study_from(source: Source) -> Study:
    """A study from its text; a resumed run reads the text kept with it."""
    return check(Study, source)


def check(model: type[Model], source: Source) -> Model:
    """The text as a `model`. Raises ConfigError, or FileMistakes with every mistake in it."""
    document = parse(source)
    _refuse_another_kind(model, document)
    mistakes = list(document.mistakes)
    checked = None
    # By way of JSON, because strictness there still takes a word for an enumeration.
    try:
        checked = model.model_validate_json(json.dumps(document.data, default=str, skipkeys=True))
    except ValidationError as invalid:
        mistakes += [
            _mistake(model, document, detail) for detail in invalid.errors(include_url=False)
        ]
    if mistakes:
        raise FileMistakes(sorted(mistakes, key=_line))
    assert checked is not None
    return checked


_FIRST_KEYS = {
    "study": "Study",
    "machine": "Machine",
    "measurand": "BudgetFile",
    "machines": "Host",
}
_CALLED = {
    "Study": "a study file",
    "Machine": "a machine file",
    "BudgetFile": "a budget file",
    "Host": "the daemon's host file",
}


def _refuse_another_kind(model: type[Checked], document: Document) -> None:
    """A good file in the wrong place would be told every one of its keys. Raises ConfigError."""
    wanted = _CALLED.get(model.__name__)
    keys = document.data if isinstance(document.data, dict) else {}
    kinds = {kind for key, kind in _FIRST_KEYS.items() if key in keys}
    if wanted is None or not kinds or model.__name__ in kinds:
        return
    found = _CALLED[min(kinds)]
    raise ConfigError(document.source.where, f"is {found}, not {wanted}", f"Name {wanted} here.")


def _line(mistake: ConfigError) -> int:
    return int(mistake.where.rpartition(":")[2])


def _mistake(model: type[Checked], document: Document, detail: "ErrorDetails") -> ConfigError:
    path: tuple[Key, ...] = (*detail["loc"], *_misplaced(detail))
    key = _named(path)
    where = document.at(path)
    keys = _keys_at(model, path[:-1])
    match detail["type"]:
        case "missing":
            return ConfigError(where, f"{key} is missing", "Add it; the shipped files show how.")
        case "empty":
            return ConfigError(where, f"{key}: is empty", detail["ctx"]["next"])
        case "extra_forbidden" if isinstance(path[-1], str) and path[-1].isdecimal():
            what = f"{key} is no key here"
            return ConfigError(where, what, "A decimal comma? Write a point, as in 0.05.")
        case "extra_forbidden":
            return ConfigError(where, f"{key} is no key here", nearest(str(path[-1]), keys))
        case "enum":
            words = re.findall(r"'([^']+)'", detail["ctx"]["expected"])
            what = f"{key}: can't be {_shown(detail['input'])}"
            return ConfigError(where, what, nearest(str(detail["input"]), words))
        case kind:
            got = "" if kind == "value_error" else f" (got {_shown(detail['input'])})"
            what = f"{_demand(detail)}{got}"
            next_step = _asked_for(detail) or number_alone(
                detail["input"], str(path[-1]) if path else ""
            )
            return ConfigError(where, f"{key}: {what}" if key else what, next_step)


_NUMBER_WITH_MORE = re.compile(r"([-+]?\d+(?:[.,]\d*)?|[-+]?[.,]\d+)\s*([^\s\d]*)")
_IN_MM = {"mm": 1.0, "µm": 1e-3, "μm": 1e-3, "um": 1e-3, "in": 25.4, "mil": 0.0254}


def number_alone(value: object, key: str) -> str:
    """What to write instead of a number with a decimal comma or its unit."""
    found = _NUMBER_WITH_MORE.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None:
        return "Correct it."
    number, unit = float(found[1].replace(",", ".")), found[2]
    if not unit:
        return f"Write {number:g}, with a decimal point." if "," in found[1] else "Correct it."
    if key.endswith("_mm") and unit in _IN_MM:
        return f"Write {number * _IN_MM[unit]:.6g}, the number alone, in mm."
    return f"Write {number:g}, the number alone, in the unit that ends the key's name."


def _misplaced(detail: "ErrorDetails") -> tuple[Key, ...]:
    """From the section that found a mistake to the key that has it."""
    cause = detail.get("ctx", {}).get("error")
    return cause.at if isinstance(cause, Misplaced) else ()


def _asked_for(detail: "ErrorDetails") -> str:
    """What whoever found the mistake says to do."""
    cause = detail.get("ctx", {}).get("error")
    return cause.next_step if isinstance(cause, Misplaced) else ""


def _named(path: Iterable[Key]) -> str:
    """`points.3.x_mm`, with entries of a list counted from 1 as people do."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def nearest(word: str, known: Iterable[str]) -> str:
    """What to write instead of `word`: the nearest of the known words, or all of them."""
    listed = sorted(known)
    near = get_close_matches(word, listed, n=1)
    return f"Did you mean '{near[0]}'?" if near else f"Known here: {', '.join(listed) or 'none'}."


_DEMANDS = {
    "greater_than": "must be above {gt:g}",
    "greater_than_equal": "must be at least {ge:g}",
    "less_than": "must be below {lt:g}",
    "less_than_equal": "must be at most {le:g}",
    "finite_number": "must be a finite number",
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "bool_type": "must be true or false",
    "string_type": "must be text; put it in quotes if it looks like a number",
    "string_pattern_mismatch": "must match {pattern}",
    "string_too_short": "must have at least {min_length} characters",
    "string_too_long": "must have at most {max_length} characters",
    "too_short": "must have at least {min_length} entries",
    "list_type": "must be a list",
    "model_type": "must be a section with keys of its own",
    "value_error": "{error}",
}


def _demand(detail: "ErrorDetails") -> str:
    context = detail.get("ctx", {})
    if detail["type"] == "string_pattern_mismatch" and "{0,39}" in context["pattern"]:
        return f"must be {NAME_WORDS}"
    demand = _DEMANDS.get(detail["type"])
    return demand.format(**context) if demand else detail["msg"].lower()


def _shown(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _keys_at(model: type[BaseModel], path: tuple[Key, ...]) -> list[str]:
    inside: type[BaseModel] | None = model
    for key in path:
        if inside is not None and isinstance(key, str):
            inside = _section(inside.model_fields[key].annotation)
    return list(inside.model_fields) if inside is not None else []


def _section(annotation: Any) -> type[BaseModel] | None:
    """The model inside an annotation such as `list[Point]` or `Indicator | None`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) in (list, Union, UnionType, Annotated):
        found = (_section(part) for part in get_args(annotation))
        return next((part for part in found if part is not None), None)
    return None
