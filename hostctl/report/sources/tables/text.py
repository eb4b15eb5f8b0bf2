"""A table's file as rows of cells: its letters, its separator, its line numbers."""

import csv
import io
import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from string import ascii_letters, digits
from typing import NamedTuple

from hostctl.errors import DataError
from hostctl.report.sources.tables.title import (
    SEPARATORS,
    is_comment,
    lines_above_head,
    separator_named,
)

_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
_WORKBOOKS = {
    b"PK\x03\x04": "a workbook (.xlsx, .ods) or another zip file",
    b"\xd0\xcf\x11\xe0": "an old workbook (.xls)",
}
_LOOKED_AT = 50  # lines that decide what separates cells
_LOOKED_AT_SIGNS = 200_000
_FILLED = frozenset(ascii_letters + digits + "-+.")  # what begins so is neither blank nor a remark
_WHOLE_AND_PART = re.compile(r"[-+−]?\d+,\d+")


class Table(NamedTuple):
    """lines: number and cells of each row that is not blank nor a # comment; the head comes first.

    titled: whether lines above the head were left out.
    """

    lines: Iterator[tuple[int, list[str]]]
    titled: bool


def read_table(path: Path, asked: Sequence[str] = ()) -> Table:
    """A table's rows. asked: names of columns, by which its head is found.

    Raises DataError, at once or while they are taken, when it can't be read, is no text, or can't
    be told apart into columns.
    """
    text = _text(path)
    lines = text.read(_LOOKED_AT_SIGNS).split("\n")
    named = separator_named(lines[0])
    above = lines_above_head(lines, asked) or (1 if named else 0)
    text.seek(0)
    for _ in range(above):
        next(text)
    separator = named or _separator(path, lines[above:])
    titled = any(map(_tells, lines[1 if named else 0 : above]))
    return Table(_rows(path, text, separator, above), titled)


def _tells(line: str) -> bool:
    return bool(line.strip()) and not is_comment(line)


def _rows(
    path: Path, text: io.TextIOWrapper, separator: str | None, above: int
) -> Iterator[tuple[int, list[str]]]:
    rows = csv.reader(text, delimiter=separator or "\x00")
    try:
        before = above
        for row in rows:
            line, before = before + 1, above + rows.line_num
            if (row and row[0][:1] in _FILLED) or _holds_cells(row):
                yield line, row
    except csv.Error as cause:
        raise _not_apart(f"{path}:{above + rows.line_num}", cause) from cause


def _holds_cells(row: Sequence[str]) -> bool:
    """Whether it is neither blank nor a remark."""
    return any(map(str.strip, row)) and not _is_remark(row)


def _is_remark(row: Sequence[str]) -> bool:
    if not row[0].startswith("#"):
        return False
    return is_comment(f"{row[0]};" if any(map(str.strip, row[1:])) else row[0])


def _not_apart(where: str, cause: csv.Error) -> DataError:
    return DataError(where, f"can't be taken apart ({cause})", "Export it again as CSV.")


def _waits(path: Path) -> bool:
    """Whether it is a device, socket or named pipe. A shell's own pipe has no path."""
    real = Path(os.path.realpath(path))
    return real.exists() and not (real.is_file() or real.is_dir())


def _text(path: Path) -> io.TextIOWrapper:
    """Decoded as it is read: a million rows are no second copy of the file."""
    data, coding = _data(path)
    return io.TextIOWrapper(io.BytesIO(data), coding)


def _data(path: Path) -> tuple[bytes, str]:
    """What the file holds, and its letters' coding."""
    if _waits(path):
        raise DataError(str(path), "is no plain file", "Give the path of a CSV file.")
    try:
        data = path.read_bytes()
    except OSError as cause:
        reason = (cause.strerror or str(cause)).lower()
        raise DataError(
            str(path), f"can't be read ({reason})", "Check the path to the CSV file."
        ) from cause
    for start, kind in _WORKBOOKS.items():
        if data.startswith(start):
            raise DataError(str(path), f"is {kind}, not text", "Save it as CSV and give that.")
    coding = next((c for mark, c in _MARKS.items() if data.startswith(mark)), None)
    for attempt in (coding,) if coding else ("utf-8", "cp1252"):  # µ and − from old spreadsheets
        try:
            text = data.decode(attempt)
        except UnicodeDecodeError:
            continue
        if "\x00" in text[:10_000]:
            break
        return data, attempt
    raise DataError(str(path), "is not readable text", "Save it as CSV, in UTF-8.")


def _separator(path: Path, below: Sequence[str]) -> str | None:
    """What separates cells; None for one column only.

    The one that cuts the most lines into as many cells as the head has. Decimal commas in a file
    without another separator would look like two columns, and without a head nobody could tell.
    """
    lines = list(filter(_tells, below))[:_LOOKED_AT]
    if not lines:
        raise DataError(str(path), "is empty", "Export the readings again.")
    if all(map(_WHOLE_AND_PART.fullmatch, map(str.strip, lines))):
        raise DataError(
            str(path),
            "may hold decimal commas, or two columns separated by commas",
            "Put a line with the column's name at the top, or separate columns by semicolons.",
        )
    best, most = None, 0
    for separator in SEPARATORS:
        try:
            counts = [len(row) for row in csv.reader(lines, delimiter=separator) if row]
        except csv.Error as cause:
            raise _not_apart(str(path), cause) from cause
        alike = sum(count == counts[0] for count in counts)
        if counts[0] > 1 and alike > most:
            best, most = separator, alike
    return best
