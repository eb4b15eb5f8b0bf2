"""Readings as dots, row by row: what a figure of them is given."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Dots:
    """So many readings at one value, mm. outside: beyond the limits.  doubted: read since the last
    good check of what ties them to the nozzle."""

    value_mm: float
    count: int
    outside: bool
    doubted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DotRow:
    """Readings that belong together, in rising order. note: what a reader counts them for, as "12
    of 12 within".  zero: whether the block's own zero is one of them, drawn as a ring at 0.
    average_mm: marked below; None where it is 0 by definition.  head: heads this row and those
    below it."""

    label: str
    note: str
    dots: tuple[Dots, ...]
    zero: bool = False
    average_mm: float | None = None
    head: str = ""
