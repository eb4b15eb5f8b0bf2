"""Points in time between their limits."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import significant
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.ink import PALE, Ink, Shape
from hostctl.report.figures.pen.lettering import (
    NARROW_PX,
    cells,
    in_cells,
    plain,
    shortened,
    width_px,
)
from hostctl.report.figures.pen.scale import Scale
from hostctl.report.figures.pen.written import LINE_PX, as_sign, height, legend

HEIGHT = 11
MOST_POINTS = 60
HIGH_PX = 200.0
MOST_LABEL_PX = 130.0
MOST_LABEL = 17  # columns of a terminal
ROOMY = 30  # up to so many points two columns each
STEADY, WILD, AVERAGE = "●", "◆", "·"


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A level line, with what is written beside it. is_limit: else it is the middle."""

    value: float
    label: str
    is_limit: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryChart:
    """Values in time, at least one, with their weighted averages and what they are held against.

    first, last: the dates of the first value and the last, empty where not known. wild: the values
    at which a sign shows, from 0. averages: empty, or one a value. levels: the middle first, so
    that its label stays where two fall on one row.
    """

    kind: ClassVar[str] = "history"
    first: str
    last: str
    values: tuple[float, ...]
    averages: tuple[float, ...]
    wild: tuple[int, ...]
    levels: tuple[Level, ...]

    def in_text(self) -> str:
        """Eleven rows, and the dates at their foot."""
        grid = self._grid(2 if len(self.values) <= ROOMY else 1)
        scale = self._scale()
        labels = {scale.row(level.value): level.label for level in reversed(self.levels)}
        width = terminal.label_width([*labels.values()], MOST_LABEL)
        drawn = [
            f"{_flush(labels.get(row, ''), width)} ┤{''.join(cells)}".rstrip()
            for row, cells in enumerate(grid)
        ]
        room = terminal.WIDTH - width - 2
        foot = _foot(plain(self.first), plain(self.last), len(grid[0]))
        foot = in_cells(foot, room) if cells(foot) > room else foot
        return "\n".join([*drawn, f"{'':{width + 2}}{foot}".rstrip()])

    def in_svg(self) -> Picture:
        """Time to the right, the limits as lines; a sign is a diamond."""
        ink, rise, along = Ink(), self._rise(), self._along()
        top, bottom = float(LINE_PX), LINE_PX + HIGH_PX
        self._level_lines(ink, rise, along.first - 0.02, (top, bottom))
        places = [
            (along.share(n), height(rise, value, top, bottom))
            for n, value in enumerate(self.values)
        ]
        for start, end in pairwise(places):
            ink.line(start, end, weight=PALE / 2)
        for n, average in enumerate(self.averages):
            x, y = along.share(n), height(rise, average, top, bottom)
            ink.line((max(x - 0.008, 0), y), (min(x + 0.008, 1), y), width=2, weight=PALE)
        for n, (x, y) in enumerate(places):
            is_wild = n in self.wild
            ink.sign(
                Shape.DIAMOND if is_wild else Shape.DOT, x, y, 5 if is_wild else 3.5, accent=is_wild
            )
        ink.line((along.first - 0.02, bottom + 8), (1, bottom + 8), weight=PALE)
        y = self._dates(ink, along.first, bottom + 8)
        items = [(as_sign(Shape.DOT), "steady")]
        items += [(as_sign(Shape.DIAMOND, accent=True), "a sign of change")] if self.wild else []
        items += [(Ink.stroke, "weighted average")] if self.averages else []
        return ink.picture(legend(ink, y, items) + 2)

    def numbers(self) -> Table:
        """Each value, and what it is held against."""
        averaged = bool(self.averages)
        columns = (
            Column(head="check", is_number=True),
            Column(head="value", is_number=True),
            *([Column(head="weighted average", is_number=True)] if averaged else []),
            Column(head=""),
        )
        rows = [
            (
                str(n + 1),
                significant(value, 3),
                *([significant(self.averages[n], 3)] if averaged else []),
                "a sign" if n in self.wild else "",
            )
            for n, value in enumerate(self.values)
        ]
        blank = ("",) * averaged
        rows += [("", significant(one.value, 3), *blank, one.label) for one in self.levels]
        ends = [f"{self.first} to {self.last}"] if self.first != self.last else [self.first]
        heads = [(when,) for when in ends if when]
        return Table(columns=columns, rows=(*heads, *rows))

    def _level_lines(self, ink: Ink, rise: Scale, left: float, high: tuple[float, float]) -> None:
        """The lines, and their labels at the left, moved apart where they would overlap."""
        last = -float("inf")
        for level in sorted(self.levels, key=lambda one: -one.value):
            y = height(rise, level.value, *high)
            ink.line(
                (left, y), (1, y), dashed=level.is_limit, weight=PALE if not level.is_limit else 1
            )
            last = max(y + 4, last + LINE_PX)
            ink.text(0, last, shortened(plain(level.label), MOST_LABEL_PX))

    def _dates(self, ink: Ink, left: float, y: float) -> float:
        first, last = plain(self.first), plain(self.last)
        if not first and not last:
            return y
        y += LINE_PX
        room = (1 - left) * NARROW_PX
        ink.text(left, y, shortened(first, room))
        if last != first and width_px(first) + width_px(last) + LINE_PX <= room:
            ink.text(1, y, last, anchor="end")
        return y + 4

    def _rise(self) -> Scale:
        every = [*self.values, *self.averages, *(level.value for level in self.levels)]
        low, high = min(every), max(every)
        over = 0.04 * (high - low) or abs(high) or 1.0
        return Scale(low - over, high + over, first=0.0, last=1.0)

    def _along(self) -> Scale:
        labels = [min(width_px(plain(one.label)), MOST_LABEL_PX) for one in self.levels]
        left = (max(labels) + 14) / NARROW_PX if labels else 0.04
        return Scale(-0.5, len(self.values) - 0.5, first=left, last=0.985)

    def _grid(self, step: int) -> list[list[str]]:
        scale, columns = self._scale(), step * len(self.values)
        grid = [[" "] * columns for _ in range(HEIGHT)]
        for level in self.levels:
            grid[scale.row(level.value)] = ["┄" if level.is_limit else "─"] * columns
        for column, average in enumerate(self.averages):
            grid[scale.row(average)][step * column] = AVERAGE
        for column, value in enumerate(self.values):
            grid[scale.row(value)][step * column] = WILD if column in self.wild else STEADY
        return grid

    def _scale(self) -> "_Scale":
        return _Scale([*self.values, *self.averages, *(level.value for level in self.levels)])


def _flush(label: str, width: int) -> str:
    """Set flush right, shortened where it is too long."""
    return " " * (width - cells(plain(label))) + in_cells(label, min(width, cells(plain(label))))


def _foot(first: str, last: str, columns: int) -> str:
    """The first date and the last, under their points where there is room."""
    if first == last:
        return first
    return f"{first}{'':{max(columns - len(first) - len(last), 2)}}{last}"


class _Scale:
    """Values to rows, the largest at the top."""

    def __init__(self, values: Sequence[float]) -> None:
        self._low, self._high = min(values), max(values)

    def row(self, value: float) -> int:
        span = self._high - self._low
        part = (value - self._low) / span if span else 0.5
        return round((HEIGHT - 1) * (1 - part))
