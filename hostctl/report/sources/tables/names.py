"""Names that a table leaves out because its cells are merged, or writes in two ways."""

from collections.abc import Iterable, Iterator
from itertools import combinations, groupby
from pathlib import Path

from hostctl.errors import DataError
from hostctl.report.sources.tables.columns import Found
from hostctl.report.sources.tables.rows import KEYS, Bad, Line, Rows


def partly_blank(rows: Rows) -> list[str]:
    """The columns of names that are blank in some rows and not in others, by their roles."""
    return [role for role, names in _names(rows).items() if "" in names and len(names) > 1]


def looks_merged(rows: Rows, roles: Iterable[str]) -> bool:
    """Whether several rows lack a name: a single one may be a sum, or was forgotten."""
    places = [KEYS.index(role) for role in roles]
    blank = (len(p.values) for names, p in rows.parts.items() if "" in [names[k] for k in places])
    return sum(blank) > 1


def filled_down(lines: Iterable[Line], found: Found) -> Iterator[Line]:
    """Blank cells take the name above, as merged cells mean it.

    Not where a name to the left of it changes: whose is it then?
    """
    places = sorted(place for role in KEYS if (place := found.place(role)) is not None)
    above: dict[int, str] = {}
    for line, row in lines:
        same = True
        for place in (place for place in places if place < len(row)):
            if same and not row[place].strip():
                row[place] = above.get(place, "")
            same = same and row[place] == above.get(place)
            above[place] = row[place]
        yield line, row


def still_blank(lines: Iterable[Line], found: Found, roles: Iterable[str]) -> Iterator[Bad]:
    """Each row that a name is wanted in."""
    wanted = [(role, found.at[role]) for role in roles]
    for line, row in lines:
        for role, place in wanted:
            if place < len(row) and not row[place].strip():
                yield line, f"no {role}, where other rows name theirs (for none write -)"


def check_spelling(path: Path, rows: Rows) -> None:
    """Raises DataError where two names differ only in capitals and spaces."""
    for role, names in _names(rows).items():
        for _, alike in groupby(sorted(names, key=_plain), key=_plain):
            for one, other in combinations(sorted(alike), 2):
                what = f"{one!r} and {other!r} may be one {role}"
                raise DataError(str(path), what, "Write its name alike in every row.")


def _names(rows: Rows) -> dict[str, set[str]]:
    return {role: {names[k] for names in rows.parts} for k, role in enumerate(KEYS)}


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
