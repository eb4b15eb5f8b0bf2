"""The rows of a table as readings in mm, block by block; each row that can't be used is named."""

from array import array
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache, partial
from operator import itemgetter
from pathlib import Path

from hostctl.errors import DataError
from hostctl.report.sources.tables.columns import Found
from hostctl.report.sources.tables.number import MM, MOST_SHOWN, Cell, read_cell

MOST_NAMED = 200  # bad rows named one by one
KEYS = ("method", "operator", "point", "block", "round")
_YES = frozenset(("1", "true", "yes", "y", "x"))
_YES_OR_NO = _YES | {"", "0", "false", "no", "n", "-"}
_SUMS = ("total", "totals", "grand total", "subtotal", "sum", "mean", "average", "avg", "median")
_SPREADS = ("std", "stdev", "std dev", "standard deviation", "minimum", "maximum")
STANDS_FOR_NO_READING = frozenset(
    f"{case(word)}{mark}"
    for word in (*_SUMS, *_SPREADS, "summe", "mittelwert", "somme", "moyenne", "suma", "media")
    for case in (str.lower, str.capitalize, str.title, str.upper)
    for mark in ("", ":", " ")
)
"""Words beside a figure that was worked out from the readings."""

Line = tuple[int, list[str]]
Bad = tuple[int, str]


class BadRows(DataError):
    """Every row that can't be used, one line each."""

    def __init__(self, path: Path, bad: Sequence[Bad]) -> None:
        self.bad = tuple(sorted(bad))
        several = rows_named(self.bad)
        rows = "1 row" if several == 1 else f"{several} rows"
        super().__init__(str(path), f"{rows} can't be used", "Mend or remove them, and try again.")

    def __str__(self) -> str:
        named = [f"{self.where}:{line}: {what}." for line, what in self.bad[:MOST_NAMED]]
        more = rows_named(self.bad) - rows_named(self.bad[:MOST_NAMED])
        last = f"{self.where}: {self.what}{f' ({more} not listed)' if more else ''}"
        return "\n".join([*named, f"{last}. {self.next_step}"])


def rows_named(bad: Iterable[Bad]) -> int:
    """How many rows can't be used; one may be so for several reasons."""
    return len({line for line, _ in bad})


def readings_counted(count: int) -> str:
    """How many, in words."""
    return "1 reading" if count == 1 else f"{count} readings"


@dataclass(slots=True)
class Part:
    """The readings of one block, mm, with their lines, and the zero they count from if listed."""

    values: "array[float]" = field(default_factory=lambda: array("d"))
    lines: "array[int]" = field(default_factory=lambda: array("l"))
    order: list[str] = field(default_factory=list)
    zero: float | None = None


@dataclass(slots=True)
class Rows:
    """All of them. cells: each different text in the column of readings, as it was understood.
    resolutions: each different one that a column of them names. dated: whether their order is that
    of dates: 30.09 is then no number."""

    parts: dict[tuple[str, ...], Part] = field(default_factory=dict)
    cells: dict[str, Cell | str] = field(default_factory=dict)
    resolutions: set[str] = field(default_factory=set)
    bad: list[Bad] = field(default_factory=list)
    void: int = 0
    dated: bool = False

    @property
    def numbers(self) -> list[Cell]:
        """The cells that are numbers."""
        return [cell for cell in self.cells.values() if isinstance(cell, Cell)]


def gather(lines: Iterable[Line], found: Found, unit: str | None) -> Rows:
    """Read every row. unit: of the column; None where cells name theirs, or nobody does."""
    rows = Rows(dated="date" in found.at)
    keep = _keeper(rows, found)
    value_of = cache(partial(_value, rows, unit))  # texts repeat: each different one is read once
    zero, void = found.place("zero"), found.place("void")
    yes_or_no = zero is not None or void is not None
    width, most = max(found.at.values()) + 1, len(found.heads)
    reading_in = found.reading_in if "unit" in found.at else itemgetter(found.at["reading"])
    for line, row in lines:
        suspect = yes_or_no or len(row) != most or not STANDS_FOR_NO_READING.isdisjoint(row)
        if suspect and (fault := _fault(row, found, width)):
            rows.bad.append((line, fault))
        elif void is not None and _is_yes(row[void]):
            rows.void += 1
        elif isinstance(value := value_of(reading_in(row)), str):
            rows.bad.append((line, value))
        else:
            keep(line, row, value)
    return rows


def _keeper(rows: Rows, found: Found) -> Callable[[int, list[str], float], None]:
    """What puts a good row into its block. Names repeat, so each different set is read once."""
    places = [found.place(key) for key in KEYS]
    named = [place for place in places if place is not None]
    names_of = itemgetter(*named) if named else _nameless
    parts: dict[str | tuple[str, ...], Part] = {}
    zero, resolution = found.place("zero"), found.place("resolution")
    order = _present(found, "date", "time") or _present(found, "trial")
    moment_of = itemgetter(*order) if order else _nameless

    def keep(line: int, row: list[str], value: float) -> None:
        part = parts.get(cells := names_of(row))
        if part is None:
            key = tuple(["" if place is None else row[place].strip() for place in places])
            part = parts[cells] = rows.parts.setdefault(key, Part())
        if zero is not None and _is_yes(row[zero]):
            part.zero = value
            return
        if resolution is not None:
            rows.resolutions.add(row[resolution])
        part.values.append(value)
        part.lines.append(line)
        if order:
            when = moment_of(row)
            part.order.append(when if len(order) == 1 else " ".join(when))

    return keep


def _nameless(row: Sequence[str]) -> str:
    return ""


def _present(found: Found, *roles: str) -> list[int]:
    """The columns of those of the roles that have one."""
    return [found.at[role] for role in roles if role in found.at]


def _fault(row: Sequence[str], found: Found, width: int) -> str:
    """Why the row as a whole can't be used; empty where it can."""
    most = len(found.heads)
    if len(row) < width or (len(row) > most and any(map(str.strip, row[most:]))):
        if len(row) == 1 and isinstance(read_cell(row[0]), str):
            shown = repr(row[0].strip()[:MOST_SHOWN])
            return f"1 cell ({shown}), where the head has {most}; a remark begins with #"
        cells = "1 cell" if len(row) == 1 else f"{len(row)} cells"
        return f"{cells}, where the head has {most}"
    if not STANDS_FOR_NO_READING.isdisjoint(row):
        word = next(cell for cell in row if cell in STANDS_FOR_NO_READING)
        return f"{word!r} stands for no reading"
    zero, void = found.place("zero"), found.place("void")
    return _neither(row, zero, "zero") or _neither(row, void, "void")


def _value(rows: Rows, unit: str | None, text: str) -> float | str:
    """In mm, or why not."""
    cell = read_cell(text)
    if isinstance(cell, Cell) and unit and cell.unit not in (None, unit):
        cell = f"{text.strip()[:MOST_SHOWN]!r}, where the column is in {unit}"
    rows.cells[text] = cell
    if isinstance(cell, str):
        return cell
    return cell.value * MM[cell.unit or unit or "mm"]


def _is_yes(cell: str) -> bool:
    return cell.strip().casefold() in _YES


def _neither(row: Sequence[str], place: int | None, head: str) -> str:
    """A column of yes and no that says something else, such as why."""
    if place is None or row[place].strip().casefold() in _YES_OR_NO:
        return ""
    return f"{row[place].strip()[:MOST_SHOWN]!r} under {head} is neither yes nor no"
