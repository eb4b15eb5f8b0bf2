"""One question as data: whoever shows it and whoever asks it share nothing else.

What is answered is text, as typed. `understood` makes of it what the question wants, or says in one
line why it can't. A question moves nothing, and no answer to one does; what moves is asked by
`begin` in a way of its own.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

Value = str | float | int | bool | None
"""What an answer comes to, as JSON holds it. None: there is none of what is asked about."""

Kind = Literal["text", "number", "whole", "choice", "several"]
"""several: one way or more, by their words with commas between; `all`: each of them."""


class Unclear(ValueError):
    """An answer that is no answer: its text says why, in one sentence for whoever gave it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One of several answers: what is typed, and what it means."""

    word: str
    """Typed; its first letters will do where no other begins alike."""
    text: str
    """What it means, in a few words."""
    value: Value
    """What it comes to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is asked, why, and what would do."""

    key: str
    """Where the answer belongs: `travel.x.to_mm`. Unique within what is being made."""
    text: str
    """One plain sentence that ends with a question mark."""
    why: str
    """Why it is asked, and where to find it, in a sentence or two."""
    kind: Kind = "text"
    ways: tuple[Way, ...] = ()
    """Of a choice, and of `several`. Of a text: some that are offered; any other may be typed."""
    unit: str = ""
    """Of a number, as it is typed: `mm`."""
    least: float = -math.inf
    most: float = math.inf
    """Of a number; both ends will do."""
    suggested: str = ""
    """Taken where nothing is typed; empty: something must be typed."""
    read: str = ""
    """What the machine said about it: shown, never taken by itself."""
    words: Mapping[str, str] | None = None
    """What the words in it mean, a key away."""
    check: Callable[[Value], None] | None = None
    """What else must hold. Raises Unclear."""


def understood(question: Question, said: str) -> Value:
    """What the answer comes to. Raises Unclear with what to do instead."""
    text = said.strip() or question.suggested
    if not text:
        raise Unclear("Type an answer, or ? for what the words mean.")
    value = _as_kind(question, text)
    if question.check is not None:
        question.check(value)
    return value


def _as_kind(question: Question, text: str) -> Value:
    match question.kind:
        case "text":
            return next((way.value for way in question.ways if way.word == text), text)
        case "choice":
            return _way(question, text.lower()).value
        case "several":
            return _several(question, text.lower())
        case "whole":
            number = _number(question, text)
            if number != round(number):
                raise Unclear(f"{text} is no whole number.")
            return round(number)
        case "number":
            return _number(question, text)


def _way(question: Question, text: str) -> Way:
    exact = [way for way in question.ways if way.word == text]
    found = exact or [way for way in question.ways if way.word.startswith(text)]
    if len(found) == 1:
        return found[0]
    raise Unclear(f"Type one of: {', '.join(way.word for way in question.ways)}.")


def _several(question: Question, text: str) -> str:
    """Their words in the order they are offered in, with commas between."""
    if text == "all":
        return listed(way.word for way in question.ways)
    chosen = {_way(question, word).word for word in words_in(text)}
    return listed(way.word for way in question.ways if way.word in chosen)


def words_in(text: str) -> list[str]:
    """What was typed with commas or spaces between."""
    return text.replace(",", " ").split()


def listed(words: Iterable[str]) -> str:
    """The same again, as it is kept: with commas between."""
    return ", ".join(words)


def _number(question: Question, text: str) -> float:
    """A decimal comma will do, and the unit behind the number."""
    bare = text.removesuffix(question.unit).strip().replace(",", ".").replace("\N{MINUS SIGN}", "-")
    try:
        number = float(bare)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        like = "20" if question.kind == "whole" else f"12.5{_unit(question)}"
        raise Unclear(f"'{text[:40]}' is no number: type it like {like}.")
    if not question.least <= number <= question.most:
        raise Unclear(f"{number:g}{_unit(question)} is {_beyond(question)}. Look again.")
    return number


def _unit(question: Question) -> str:
    return f" {question.unit}" if question.unit else ""


def _beyond(question: Question) -> str:
    """How a number misses what will do."""
    least, most, unit = question.least, question.most, _unit(question)
    if math.isinf(most):
        return f"less than {least:g}{unit}"
    if math.isinf(least):
        return f"more than {most:g}{unit}"
    return f"not from {least:g} to {most:g}{unit}"
