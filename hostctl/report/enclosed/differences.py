"""What a report says was found, held against what its data give now."""

from collections.abc import Iterator, Mapping
from math import isclose
from typing import Any

_ALIKE = 1e-6  # of a number: below what any figure shows, above what computers differ by
_NAMED = 5
_LONGEST = 60

_ABSENT = object()


def differing(then: Mapping[str, Any], now: Mapping[str, Any], made_by: str, program: str) -> str:
    """A sentence that names what differs, the first few; empty where nothing does.

    then: as the report has it, made_by: that program.  now: worked out again, by `program`.
    """
    found = list(_differences(_comparable(then), _comparable(now), ""))
    if not found:
        return ""
    more = f"; and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    versions = f"{made_by} then, {program} now" if made_by != program else f"{program} both times"
    return (
        f"Worked out again from the data in it, {len(found)} of what the report says "
        f"{'differs' if len(found) == 1 else 'differ'} ({versions}): "
        f"{'; '.join(found[:_NAMED])}{more}. What is shown here is what comes now."
    )


def _comparable(data: Mapping[str, Any]) -> Mapping[str, Any]:
    """Without what was said of its look that could not be put on record, which was so then."""
    look = data.get("look")
    if not isinstance(look, Mapping) or look.get("unrecorded") is None:
        return data
    kept = {key: value for key, value in data.items() if key != "cautions"}
    return kept | {"look": {**look, "unrecorded": None}}


def _differences(then: Any, now: Any, at: str) -> Iterator[str]:
    """In the order of what comes now; as deep as that is, whatever the report holds."""
    if isinstance(then, Mapping) and isinstance(now, Mapping):
        for key in dict.fromkeys((*now, *then)):
            place = f"{at}.{key}" if at else str(key)
            yield from _differences(then.get(key, _ABSENT), now.get(key, _ABSENT), place)
    elif isinstance(then, list) and isinstance(now, list) and len(then) == len(now):
        for number, (before, after) in enumerate(zip(then, now, strict=True)):
            yield from _differences(before, after, f"{at}[{number}]")
    elif not _are_alike(then, now):
        yield f"{at[:_LONGEST]} {_shown(then)} then, {_shown(now)} now"


def _are_alike(then: Any, now: Any) -> bool:
    numbers = (int, float)
    if type(then) in numbers and type(now) in numbers:
        return isclose(then, now, rel_tol=_ALIKE, abs_tol=1e-12)
    return type(then) is type(now) and then == now


def _shown(value: Any) -> str:
    if value is _ABSENT:
        return "absent"
    if isinstance(value, Mapping):
        return "an object"
    if isinstance(value, list):
        return f"{len(value)} items"
    if isinstance(value, str):
        return f"'{value}'" if len(value) <= _LONGEST else f"'{value[: _LONGEST - 1]}…'"
    return f"{value:.6g}" if isinstance(value, float) else str(value).lower()
