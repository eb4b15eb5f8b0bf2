"""The parts of a JSON text, taken out with their types, or refused by the place they stand at."""

import json
import re
from array import array
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import accumulate
from math import nan
from typing import Any, TypeVar

from hostctl.store.file.instants import instant

Taken = TypeVar("Taken")

LARGEST = 1e6
"""Of a value in mm or of a temperature, as the database has it too."""

_MOST_WHOLE = 2**31 - 1
_LATEST_MS = 253_402_300_799_999  # the end of the year 9999
_DEEPEST = 40
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")  # a terminal would obey them


class Unfit(ValueError):
    """What is wrong with the data, and where in them."""


@dataclass(frozen=True, slots=True)
class Part:
    """One object. at: where it stands, as `sources[0].rows`."""

    data: dict[str, Any]
    at: str

    def value(self, key: str) -> Any:
        """Whatever stands there. Raises Unfit, as all of these do."""
        if key not in self.data:
            raise Unfit(f"{self._at(key)} is missing")
        return self.data[key]

    def text(self, key: str) -> str:
        """For people, so what a terminal would take for an order is made visible."""
        return _CONTROLS.sub("\ufffd", self.whole_text(key))

    def whole_text(self, key: str) -> str:
        """A file's text, exactly."""
        return _a(str, self.value(key), self._at(key))

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts for people."""
        at = self._at(key)
        texts = (_a(str, value, at) for value in _a(list, self.value(key), at))
        return tuple(_CONTROLS.sub("\ufffd", text) for text in texts)

    def flag(self, key: str) -> bool:
        """True or false."""
        return _a(bool, self.value(key), self._at(key))

    def whole(self, key: str, low: int = 0) -> int:
        """A whole number from `low` on."""
        value = _a(int, self.value(key), self._at(key))
        return self._within(key, value, low, _MOST_WHOLE)

    def number(self, key: str, low: float = -LARGEST, high: float = LARGEST) -> float:
        """A number from `low` to `high`."""
        value = self.value(key)
        if type(value) is not int:
            _a(float, value, self._at(key))
        return float(self._within(key, value, low, high))

    def instant(self, key: str) -> datetime:
        """A point in time, UTC."""
        try:
            found = instant(self.whole_text(key))
            if found.tzinfo is not None:
                return found.astimezone(UTC)
        except (ValueError, OverflowError) as why:
            raise Unfit(f"{self._at(key)} is no time") from why
        raise Unfit(f"{self._at(key)} names no time zone")

    def part(self, key: str) -> "Part":
        """An object."""
        return Part(_a(dict, self.value(key), self._at(key)), self._at(key))

    def parts(self, key: str) -> list["Part"]:
        """A list of objects."""
        at = self._at(key)
        values = enumerate(_a(list, self.value(key), at))
        return [Part(_a(dict, value, f"{at}[{k}]"), f"{at}[{k}]") for k, value in values]

    def or_none(self, key: str, take: "Callable[[str], Taken]") -> Taken | None:
        """What `take` takes there; None where null stands."""
        return None if self.value(key) is None else take(key)

    def wholes(self, key: str, typecode: str, low: int, high: int = _MOST_WHOLE) -> "array[int]":
        """A column of whole numbers from `low` to `high`."""
        values = self._column(key, {int})
        self._all_within(key, values, low, high)
        return array(typecode, values)

    def instants_ms(self, key: str) -> "array[int]":
        """A column of milliseconds since the one before, made such since 1970."""
        after_ms = self.wholes(key, "q", -_LATEST_MS, _LATEST_MS)
        at_ms = array("q")
        for instant_ms in accumulate(after_ms):
            at_ms.append(self._within(key, instant_ms, 0, _LATEST_MS))
        return at_ms

    def numbers(self, key: str) -> "array[float]":
        """A column of numbers."""
        values = self._column(key, {int, float})
        self._all_within(key, values, -LARGEST, LARGEST)
        return array("d", values)

    def known_numbers(self, key: str) -> "array[float]":
        """The same; nan where null stands."""
        values = self._column(key, {int, float, type(None)})
        known = [value for value in values if value is not None]
        self._all_within(key, known, -LARGEST, LARGEST)
        return array("d", (nan if value is None else value for value in values))

    def _column(self, key: str, types: set[type]) -> list[Any]:
        values: list[Any] = _a(list, self.value(key), self._at(key))
        if not set(map(type, values)) <= types:
            raise Unfit(f"{self._at(key)} holds something else than numbers")
        return values

    def _all_within(self, key: str, values: list[Any], low: float, high: float) -> None:
        for extreme in (min(values), max(values)) if values else ():
            self._within(key, extreme, low, high)

    def _within(self, key: str, value: Taken, low: float, high: float) -> Taken:
        if not low <= value <= high:  # type: ignore[operator]
            raise Unfit(f"{self._at(key)} is not from {low:g} to {high:g}")
        return value

    def _at(self, key: str) -> str:
        return f"{self.at}.{key}" if self.at else key


def parsed(text: bytes, most_values: int, most_containers: int) -> Part:
    """The object that a JSON text is. Raises Unfit, before much memory is taken."""
    if text.count(b",") > most_values or text.count(b"{") + text.count(b"[") > most_containers:
        raise Unfit("there are more values than a report has")
    try:
        data = json.loads(text, parse_constant=_no_number)
    except RecursionError as why:
        raise Unfit("they are nested too deeply") from why
    except (ValueError, UnicodeDecodeError) as why:
        raise Unfit(f"they are no JSON ({why})"[:200]) from why
    return Part(_a(dict, data, "the whole"), "")


def check_depth(value: object, at: str) -> None:
    """Raises Unfit where what others may put there as they like is nested too deeply."""
    level, depth = [value], 0
    while level:
        depth += 1
        if depth > _DEEPEST:
            raise Unfit(f"{at} is nested too deeply")
        lists = [one for one in level if isinstance(one, list)]
        dicts = [one for one in level if isinstance(one, dict)]
        level = [item for one in lists for item in one]
        level += [item for one in dicts for item in one.values()]


def _a(kind: type[Taken], value: Any, at: str) -> Taken:
    """The value, if it is just of that type; true is no number."""
    if type(value) is not kind:
        called = {dict: "an object", list: "a list", str: "a text", bool: "true or false"}
        raise Unfit(f"{at} is not {called.get(kind, 'a number')}")
    return value


def _no_number(called: str) -> float:
    raise Unfit(f"{called} stands where a number should")
