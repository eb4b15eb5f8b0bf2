"""Which column of a table is which: by its name, by what was asked for, or by asking."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from hostctl.errors import DataError
from hostctl.report.sources.tables.moment import is_date
from hostctl.report.sources.tables.number import (
    Cell,
    head_and_unit,
    read_cell,
    unit_named,
    unknown_unit,
)

NAMES: Mapping[str, frozenset[str]] = {
    "reading": frozenset(
        [
            *("reading", "readings", "value", "values", "measurement", "measurements"),
            *("measured", "gap", "deviation", "indicator", "dial", "result"),
        ]
    ),
    "unit": frozenset(("unit", "units")),
    "method": frozenset(("method", "methods")),
    "operator": frozenset(["operator", "person", "hands", "appraiser", "volunteer", "who"]),
    "point": frozenset(["point", "location", "position", "place", "corner", "part"]),
    "trial": frozenset(["trial", "trials", "no", "nr", "number", "repeat", "index"]),
    "block": frozenset(["block", "session", "set", "series"]),
    "round": frozenset(("round",)),
    "date": frozenset(("date", "day")),
    "time": frozenset(["time", "taken_at", "taken_at_utc", "timestamp", "datetime"]),
    "resolution": frozenset(("resolution", "graduation")),
    "zero": frozenset(("is_zero", "zero")),
    "void": frozenset(("void",)),
}


_MOST_SHOWN = 12  # columns listed in a message


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Where each column stands, counted from 0, and the unit that all readings are in.

    unit: None where nobody names it.  asked: the names of columns that were asked for.
    head_lines: 2 where units stand in a row of their own below the head, 0 without a head.
    """

    heads: tuple[str, ...]
    at: Mapping[str, int]
    unit: str | None
    asked: tuple[str, ...] = ()
    head_lines: int = 1

    def reading_in(self, row: Sequence[str]) -> str:
        """The cell of the reading, with the unit that a column of its own gives it."""
        text, unit = row[self.at["reading"]], self.at.get("unit")
        return text if unit is None or not row[unit].strip() else f"{text} {row[unit]}"

    def place(self, role: str) -> int | None:
        """The column of a role; None where there is none."""
        return self.at.get(role)


def find_columns(
    where: str,
    heads: Sequence[str],
    asked: Mapping[str, str],
    unit: str | None = None,
    below: Sequence[str] = (),
) -> Found:
    """Match heads to what an analysis knows. asked: role to column name, which goes first.

    unit: that of the readings, as told.  below: a row below the head; where two columns may be the
    reading, none that holds a date there is.  Raises DataError, with the columns, where a reading
    can't be found or two would do, where its unit is not known, or is not the one that was told.
    """
    shown = tuple(printable(head.strip()) for head in heads)
    plain = [head_and_unit(head) for head in shown]
    at = {role: _asked_for(where, shown, name) for role, name in asked.items()}
    for role, names in NAMES.items():
        fits = _fitting(plain, names, at.values())
        if role == "reading":
            fits = _without_dates(fits, below)
        if role not in at and fits:
            at[role] = _only(where, shown, role, fits)
    if "reading" not in at:
        if len(shown) > 1:
            raise _ask(where, shown, "reading", "no column is named as a reading")
        at["reading"] = 0
    named = plain[at["reading"]][1]
    _check_unit(where, shown[at["reading"]], named, unit)
    return Found(heads=shown, at=at, unit=named, asked=tuple(asked.values()))


def _fitting(
    plain: Sequence[tuple[str, str | None]], names: Collection[str], taken: Collection[int]
) -> Sequence[int]:
    """The columns called so that are nothing else yet."""
    return [k for k, (name, _) in enumerate(plain) if name in names and k not in taken]


def _without_dates(fits: Sequence[int], below: Sequence[str]) -> Sequence[int]:
    """Of several columns, those that hold no date; all of them where each does."""
    if len(fits) < 2:
        return fits
    return [k for k in fits if k >= len(below) or not is_date(below[k])] or fits


def _only(where: str, shown: Sequence[str], role: str, fits: Sequence[int]) -> int:
    if len(fits) > 1:
        raise _ask(where, shown, role, f"{len(fits)} columns may be the {role}")
    return fits[0]


def printable(text: str) -> str:
    """Without what would move a terminal's cursor or colour it."""
    return text if text.isprintable() else "".join(c if c.isprintable() else " " for c in text)


def _check_unit(where: str, head: str, named: str | None, told: str | None) -> None:
    if named is None and told is None and (word := unknown_unit(head)):
        what = f"the column '{head}' is in a unit that is not known ({word})"
        raise DataError(where, what, "If it is no unit, say the real one: --unit mm")
    if named and told and named != told:
        what = f"the column '{head}' is in {named}, not in {told}"
        raise DataError(where, what, "Leave out --unit.")


def _asked_for(where: str, shown: Sequence[str], name: str) -> int:
    fits = called(shown, name)
    if len(fits) != 1:
        many = "no column is" if not fits else f"{len(fits)} columns are"
        raise DataError(where, f"{many} called '{name}'", f"There are: {_listed(shown)}.")
    if isinstance(read_cell(shown[fits[0]]), Cell):
        raise _no_heads(where)
    return fits[0]


def unit_below(found: Found, row: Sequence[str]) -> str | None:
    """The unit of the readings where a row below the head holds nothing but units; else None."""
    place = found.at["reading"]
    if place >= len(row) or any(isinstance(read_cell(cell), Cell) for cell in row):
        return None
    return unit_named(row[place].strip().strip("[]()"))


def called(heads: Sequence[str], name: str) -> list[int]:
    """The columns that a person may mean by a name: the whole head, else its plain word."""
    wanted = name.strip().casefold()
    fits = [k for k, head in enumerate(heads) if head.strip().casefold() == wanted]
    return fits or [k for k, head in enumerate(heads) if head_and_unit(head)[0] == wanted]


def _ask(where: str, shown: Sequence[str], role: str, what: str) -> DataError:
    if any(isinstance(read_cell(head), Cell) for head in shown):
        return _no_heads(where)
    hint = f"Say which: --column {role}=NAME"
    if role == "reading":
        hint += "; where each column is a method, write one reading a row"
    if len(set(shown)) < len(shown):
        hint = "Give each column a name of its own."
    return DataError(where, f"{what}: {_listed(shown)}", hint)


def _no_heads(where: str) -> DataError:
    what = "its first line holds numbers, not the names of columns"
    return DataError(where, what, "Put a line at the top that names them: method;reading (mm)")


def _listed(shown: Sequence[str]) -> str:
    more = len(shown) - _MOST_SHOWN
    return ", ".join(shown[:_MOST_SHOWN]) + (f" and {more} more" if more > 0 else "")
