"""A cell as a number with its unit: decimal commas, minus signs and units as people write them."""

import re
from typing import Literal, NamedTuple

from hostctl.report.sources.tables.moment import is_date

MM = {"mm": 1.0, "um": 1e-3, "in": 25.4, "mil": 0.0254}  # the inch: exact since 1959
_UNITS = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("µm", "μm", "um", "micron", "microns", "micrometre", "micrometres"), "um"),
    **dict.fromkeys(("in", "inch", "inches", '"', "″"), "in"),
    **dict.fromkeys(("mil", "mils", "thou"), "mil"),
}
_NUMBER = re.compile(r"([-+]?)(\d*)(?:([.,])(\d*))?(?:e([-+]?\d{1,3}))?", re.IGNORECASE | re.ASCII)
_CELL = re.compile(r"(.*?\d[.,]?)\s*([^\d\s.,][^\d]*)?", re.DOTALL)
_HEAD = re.compile(r"(.+?)\s*(?:[\[(]\s*([^\])]+?)\s*[\])]|[\s_,/]+([^\s_,/]+))", re.DOTALL)
_IN_BRACKETS = re.compile(r"(.+?)\s*[\[(]\s*([^\])]+?)\s*[\])]", re.DOTALL)
_NOT_READ = frozenset(("cm", "dm", "m", "nm", "ft", "feet"))  # units that nobody keeps a gap in
MOST_SHOWN = 40  # characters of a cell that can't be used
_LARGEST = 1e6  # of a reading, in whatever unit: a kilometre of millimetres
_SIGNS = str.maketrans({"\N{MINUS SIGN}": "-", "\N{EN DASH}": "-", "\xa0": " ", "\u202f": " "})


class Cell(NamedTuple):
    """value: in the unit named, or in the column's where `unit` is None. decimals: as written."""

    value: float
    unit: str | None
    decimals: int
    mark: Literal[".", ",", ""]


def unit_named(word: str) -> str | None:
    """Our name of a unit, None where it is none."""
    return _UNITS.get(word.strip().strip(".").casefold())


def head_and_unit(head: str) -> tuple[str, str | None]:
    """A column's name as a plain word, and the unit in it: `Reading (µm)` is reading, um.

    "in" counts as inches only in brackets: in a name it is more often a word.
    """
    text = head.translate(_SIGNS).strip()
    if (remark := _IN_BRACKETS.fullmatch(text)) and unit_named(remark[2]) is None:
        text = remark[1]
    found = _HEAD.fullmatch(text)
    unit = None
    if found:
        unit = unit_named(found[2] or found[3])
        if unit is not None and (found[3] or "").casefold() != "in":
            text = re.sub(r"\s+in$", "", found[1])  # "gap in mil"
        else:
            unit = None
    return re.sub(r"[^a-z0-9]+", "_", text.casefold()).strip("_"), unit


def unknown_unit(head: str) -> str | None:
    """What stands where a head's unit would, and is none we read: cm in `Reading [cm]`."""
    text = head.translate(_SIGNS).strip()
    found = _IN_BRACKETS.fullmatch(text)
    if found and unit_named(found[2]) is None:
        return found[2]
    last = re.split(r"[\s_,/]+", text)[-1]
    return last if last != text and last.casefold() in _NOT_READ else None


def read_cell(text: str) -> Cell | str:
    """The number in a cell, or why there is none."""
    plain = text.translate(_SIGNS).strip()
    if not plain:
        return "no reading"
    parts = _CELL.fullmatch(plain)
    number = _NUMBER.fullmatch(parts[1]) if parts else None
    shown = text.strip()[:MOST_SHOWN]
    if parts is None or number is None or not (number[2] or number[4]):
        return _why_not(shown, plain)
    unit = unit_named(parts[2]) if parts[2] else None
    if parts[2] and unit is None:
        return f"{shown!r} has a unit that is not known ({parts[2].strip()[:MOST_SHOWN]})"
    cell = _cell(number, unit)
    return f"{shown!r} is too large to be a reading" if abs(cell.value) > _LARGEST else cell


def _cell(number: re.Match[str], unit: str | None) -> Cell:
    """number: what `_NUMBER` found."""
    sign, whole, mark, fraction, exponent = number.groups(default="")
    return Cell(
        value=float(f"{sign}{whole or '0'}.{fraction or '0'}e{exponent or '0'}"),
        unit=unit,
        decimals=max(0, len(fraction) - int(exponent or 0)),
        mark="." if mark == "." else "," if mark == "," else "",
    )


def _why_not(shown: str, plain: str) -> str:
    if is_date(plain):
        return f"{shown!r} is a date, not a reading"
    if plain.count(",") + plain.count(".") > 1 and not re.search(r"[A-Za-z]", plain):
        return f"{shown!r} has more than one decimal mark (thousands are not separated)"
    return f"{shown!r} is not a number"
