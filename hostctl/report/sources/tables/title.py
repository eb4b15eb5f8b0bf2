"""Where the head of a table stands: on the first line, or below a title that somebody wrote."""

import csv
import re
from collections import Counter
from collections.abc import Sequence

from hostctl.report.sources.tables.columns import NAMES, called
from hostctl.report.sources.tables.number import Cell, head_and_unit, read_cell

SEPARATORS = (";", "\t", ",")
_LOOKED_AT = 20  # lines that a title may take
_NAMED = re.compile(r"sep=(.)", re.IGNORECASE)  # spreadsheets write it, to be told on import
_COMMENT = re.compile(r"#(?![;\t,]|[A-ZÄÖÜ]+[/0]*[!?]|DIV/0!|N/A|NV\b)")  # nor "#N/A", nor a head


def is_comment(text: str) -> bool:
    """Whether a line is a remark. A first cell "#" with others beside it is a head."""
    return _COMMENT.match(text) is not None


def separator_named(line: str) -> str | None:
    """The separator that a line does nothing but name; None for all other lines."""
    found = _NAMED.fullmatch(line.strip())
    return found[1] if found else None


def lines_above_head(lines: Sequence[str], asked: Sequence[str] = ()) -> int:
    """How many lines stand above the head: the first that names the columns asked for, else the
    first that names a column of readings and holds no number, else the first with as many cells as
    most lines below a title without any.

    asked: names of columns. 0 where no line will do: names that are not known are asked for.
    """
    first = [(n, line) for n, line in enumerate(lines[:_LOOKED_AT]) if not is_comment(line)]
    rows = [(n, cells) for n, line in first for cells in _cut(line)]
    return next(
        (n for n, cells in rows if asked and _names_all(cells, asked)),
        next((n for n, cells in rows if _names_a_reading(cells)), _below_a_title(first)),
    )


def _cut(line: str) -> list[list[str]]:
    """Its cells, by each separator; none where it is no line of a table."""
    try:
        return [next(csv.reader([line], delimiter=separator), []) for separator in SEPARATORS]
    except csv.Error:
        return [[] for _ in SEPARATORS]


def _names_all(cells: Sequence[str], asked: Sequence[str]) -> bool:
    return all(called(cells, name) for name in asked) and not _holds_a_number(cells)


def _names_a_reading(cells: Sequence[str]) -> bool:
    named = any(head_and_unit(cell)[0] in NAMES["reading"] for cell in cells)
    return named and not _holds_a_number(cells)


def _below_a_title(lines: Sequence[tuple[int, str]]) -> int:
    """The line of names below a first line that no separator cuts, where most others are cut."""
    filled = [(number, line) for number, line in lines if line.strip()]
    for by_separator in zip(*(_cut(line) for _, line in filled), strict=True):
        rows = [(number, cells) for (number, _), cells in zip(filled, by_separator, strict=True)]
        if (place := _as_wide_as_most(rows)) is not None:
            return place
    return 0


def _as_wide_as_most(rows: Sequence[tuple[int, Sequence[str]]]) -> int | None:
    """The first line with as many cells as most have; None where it holds a number."""
    width, often = Counter(len(cells) for _, cells in rows).most_common(1)[0]
    if len(rows[0][1]) > 1 or width < 2 or 2 * often <= len(rows):
        return None
    number, head = next(row for row in rows if len(row[1]) == width)
    return None if _holds_a_number(head) else number


def _holds_a_number(cells: Sequence[str]) -> bool:
    return any(isinstance(read_cell(cell), Cell) for cell in cells)
