"""The data of a loop's course, and what of them is drawn."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from hostctl.report.document.significant import in_mm
from hostctl.report.figures.pen.scale import Scale, readable

MOST_HOMINGS = 30
"""More of them are no marks but a pattern; they are said in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchColumn:
    """Touches `first` to `last`, counted from 1, those from one side: 0 or 1.

    lower_mm, upper_mm: the control limits then; None without.
    """

    first: int
    last: int
    side: int
    count: int
    low_mm: float
    mean_mm: float
    high_mm: float
    lower_mm: float | None
    upper_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """At least one column, in order. touches: how many there are.  sides: their names, or empty.

    homed_before, halted_before: touches before which the axes homed or the run stood still.
    beyond: touches beyond their limits, each with its height.  took: how long, in words.
    counted_from: what 0 is, in words.
    """

    columns: tuple[TouchColumn, ...]
    touches: int
    sides: tuple[str, ...]
    homed_before: tuple[int, ...]
    halted_before: tuple[int, ...]
    beyond: tuple[tuple[int, float], ...]
    step_mm: float
    took: str
    counted_from: str

    @property
    def is_binned(self) -> bool:
        """Whether several touches are drawn as one."""
        return any(one.last > one.first for one in self.columns)

    def limits(self) -> Iterator[tuple[int, int, float, float]]:
        """From which touch to which, and how low and high: of both sides the outer ones."""
        for (first, last), each in groupby(self.columns, key=lambda one: (one.first, one.last)):
            several = list(each)
            lower = [one.lower_mm for one in several if one.lower_mm is not None]
            upper = [one.upper_mm for one in several if one.upper_mm is not None]
            if lower and upper:
                yield first, last, min(lower), max(upper)

    def rise(self) -> Scale:
        """Heights upwards; a few very wild ones are cut."""
        ends = [(end, 1) for one in self.columns for end in (one.low_mm, one.high_mm)]
        drawn = [(off_mm, 1) for _, off_mm in self.beyond]
        must = [0.0, *(end for _, _, *pair in self.limits() for end in pair)]
        low, high = readable([*ends, *drawn], must, self.step_mm)
        return Scale(low, high, first=0.0, last=1.0)

    def cut(self, rise: Scale) -> list[str]:
        """What lies too far off to be drawn to scale."""
        return [
            f"touch {one.first} at {in_mm(end, self.step_mm / 10)} mm"
            if one.first == one.last
            else f"one of touches {one.first} to {one.last} at {in_mm(end, self.step_mm / 10)} mm"
            for one in self.columns
            for end in sorted({one.low_mm, one.high_mm})
            if not rise.holds(end)
        ]

    def happened(self, one: TouchColumn) -> Iterator[str]:
        """What is marked at a column."""
        if any(one.first <= touch <= one.last for touch in self.homed_before):
            yield "homed"
        if any(one.first <= touch <= one.last for touch in self.halted_before):
            yield "stood still"
        if any(one.first <= touch <= one.last for touch, _ in self.beyond):
            yield "beyond its limits"

    def foot(self) -> str:
        """What runs along the foot."""
        together = max(one.last - one.first + 1 for one in self.columns)
        many = f", {together} side by side as one" if together > 1 else ""
        return (
            f"touches in order of time, over {self.took}{many}; upwards: mm from "
            f"{self.counted_from}"
        )
