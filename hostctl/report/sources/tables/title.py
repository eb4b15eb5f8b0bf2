"""Where the head of a table stands: on the first line, or below a title that somebody wrote."""

import re
from collections.abc import Sequence

from hostctl.report.sources.tables.columns import NAMES
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


def lines_above_head(lines: Sequence[str]) -> int:
    """How many lines stand above the first that names a column of readings and holds no number.

    0 where none does: names that are not known are asked for.
    """
    heads = (number for number, line in enumerate(lines[:_LOOKED_AT]) if _is_head(line))
    return next(heads, 0)


def _is_head(line: str) -> bool:
    return not is_comment(line) and any(
        _names_a_reading(line.split(separator)) for separator in SEPARATORS
    )


def _names_a_reading(cells: Sequence[str]) -> bool:
    plain = [cell.strip().strip('"') for cell in cells]
    return any(head_and_unit(cell)[0] in NAMES["reading"] for cell in plain) and not any(
        isinstance(read_cell(cell), Cell) for cell in plain
    )
