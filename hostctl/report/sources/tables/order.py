"""The order in which a table's readings were taken, by its times or trials."""

from array import array
from collections.abc import Iterable, Sequence
from math import isfinite

from hostctl.report.sources.tables.columns import Found
from hostctl.report.sources.tables.moment import day_comes_first, has_strokes, moment
from hostctl.report.sources.tables.number import MOST_SHOWN
from hostctl.report.sources.tables.rows import Part, Rows

_A_DATE = "2026-10-01"


def put_in_order(rows: Rows, found: Found) -> str:
    """Sort each block by its times or trials.

    Where one is not understood all rows stay as they are, and it is said which, in a sentence;
    else that is empty.
    """
    texts = [part.order for part in rows.parts.values()]
    day_first = day_comes_first(text for order in texts for text in order if "/" in text)
    keys = [_keys(order, day_first, dated=rows.dated) for order in texts]
    for order, known in zip(texts, keys, strict=True):
        if known is None:
            what = f"{_heads(found)} is not understood ({_why(order, day_first, found)})"
            return f"What stands under {what}: rows are taken in the file's order."
    for part, known in zip(rows.parts.values(), keys, strict=True):
        if known and known != sorted(known):
            _sort(part, known)
    return ""


def _sort(part: Part, keys: Sequence[float]) -> None:
    order = sorted(range(len(keys)), key=keys.__getitem__)
    part.values = array("d", [part.values[k] for k in order])
    part.lines = array("l", [part.lines[k] for k in order])


def _keys(texts: Sequence[str], day_first: bool | None, *, dated: bool) -> list[float] | None:
    """dated: whether these are dates: 30.09 is then no number."""
    if not dated:
        try:
            numbers = [float(text) for text in texts]
        except ValueError:
            pass
        else:
            return numbers if all(map(isfinite, numbers)) else None
    return _times(texts, day_first)


def _times(texts: Iterable[str], day_first: bool | None) -> list[float] | None:
    """None where some name their zone and others don't, too: their order is then a guess."""
    try:
        times = [moment(text, day_first) for text in texts]
        zoned = {time.tzinfo is not None for time in times}
        return None if len(zoned) > 1 else [time.timestamp() for time in times]
    except (ValueError, OverflowError):
        return None


def _why(texts: Sequence[str], day_first: bool | None, found: Found) -> str:
    """The first that is not understood, and what would be."""
    if _roles(found) == ["trial"]:
        wrong = next(text for text in texts if _keys([text], day_first, dated=False) is None)
        return f"{_shown(wrong)} is no number"
    wrong = next((text for text in texts if _times([text], day_first) is None), "")
    if not wrong:
        return "some times name their zone and others don't"
    if has_strokes(wrong) and day_first is None:
        return f"{_shown(wrong)}: is the day first, or the month? {_A_DATE} is understood"
    hour = " 10:30" if "time" in found.at else ""
    return f"{_shown(wrong)}; {_A_DATE}{hour} would be"


def _shown(text: str) -> str:
    return repr(text.strip()[:MOST_SHOWN])


def _heads(found: Found) -> str:
    return " and ".join(found.heads[found.at[role]] for role in _roles(found))


def _roles(found: Found) -> list[str]:
    return [role for role in ("date", "time") if role in found.at] or ["trial"]
