"""Which column of a table is which: by its name, by what was asked for, or by asking."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from hostctl.errors import DataError
from hostctl.report.table_number import head_and_unit

NAMES: Mapping[str, frozenset[str]] = {
    "reading": frozenset(
        [
            *("reading", "readings", "value", "values", "measurement", "measurements"),
            *("measured", "gap", "deviation", "indicator", "dial", "result"),
        ]
    ),
    "method": frozenset(("method", "methods")),
    "operator": frozenset(["operator", "person", "hands", "appraiser", "volunteer", "who"]),
    "point": frozenset(["point", "location", "position", "place", "corner", "part"]),
    "trial": frozenset(["trial", "trials", "no", "nr", "number", "repeat", "index"]),
    "block": frozenset(["block", "session", "set", "series"]),
    "round": frozenset(("round",)),
    "time": frozenset(["time", "taken_at", "taken_at_utc", "timestamp", "date", "datetime"]),
    "zero": frozenset(("is_zero", "zero")),
    "void": frozenset(("void",)),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Where each column stands, counted from 0, and the unit its head names."""

    heads: tuple[str, ...]
    at: Mapping[str, int]
    unit: str | None

    def place(self, role: str) -> int | None:
        """The column of a role; None where there is none."""
        return self.at.get(role)


def find_columns(where: str, heads: Sequence[str], asked: Mapping[str, str]) -> Found:
    """Match heads to what an analysis knows. asked: role to column name, which goes first.

    Raises DataError, with the columns, where a reading can't be found or two would do.
    """
    shown = tuple(head.strip() for head in heads)
    plain = [head_and_unit(head) for head in shown]
    at = {role: _asked_for(where, shown, name) for role, name in asked.items()}
    for role, names in NAMES.items():
        fits = [k for k, (name, _) in enumerate(plain) if name in names and k not in at.values()]
        if role in at or not fits:
            continue
        if len(fits) > 1:
            raise _ask(where, shown, role, f"{len(fits)} columns may be the {role}")
        at[role] = fits[0]
    if "reading" not in at:
        if len(shown) > 1:
            raise _ask(where, shown, "reading", "no column is named as a reading")
        at["reading"] = 0
    return Found(heads=shown, at=at, unit=plain[at["reading"]][1])


def _asked_for(where: str, shown: Sequence[str], name: str) -> int:
    wanted = name.strip().casefold()
    fits = [k for k, head in enumerate(shown) if head.casefold() == wanted]
    fits = fits or [k for k, head in enumerate(shown) if head_and_unit(head)[0] == wanted]
    if len(fits) != 1:
        many = "no column is" if not fits else f"{len(fits)} columns are"
        raise DataError(where, f"{many} called '{name}'", f"There are: {', '.join(shown)}.")
    return fits[0]


def _ask(where: str, shown: Sequence[str], role: str, what: str) -> DataError:
    return DataError(where, f"{what}: {', '.join(shown)}", f"Say which: --column {role}=NAME")
