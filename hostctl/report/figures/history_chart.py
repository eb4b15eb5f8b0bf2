"""Points in time between their limits."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture

HEIGHT = 11
MOST_POINTS = 60
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
        width = max(map(len, labels.values()), default=0)
        drawn = [
            f"{labels.get(row, ''):>{width}} ┤{''.join(cells)}".rstrip()
            for row, cells in enumerate(grid)
        ]
        foot = _foot(self.first, self.last, len(grid[0]))
        return "\n".join([*drawn, f"{'':{width + 2}}{foot}".rstrip()])

    def in_svg(self) -> Picture:
        """Time to the right, the limits as lines."""
        return Picture(height_px=20, marks="")

    def numbers(self) -> Table:
        """Each value."""
        return Table(
            columns=(Column(head="check", is_number=True), Column(head="value", is_number=True)),
            rows=tuple((str(n), f"{value:g}") for n, value in enumerate(self.values, start=1)),
        )

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
