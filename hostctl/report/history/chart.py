"""Points in time between their limits, drawn with characters."""

from collections.abc import Sequence
from dataclasses import dataclass

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.document.significant import beside
from hostctl.report.history.history import Series

HEIGHT = 11
MOST_POINTS = 60
ROOMY = 30  # up to so many points two columns each
STEADY, WILD, AVERAGE = "●", "◆", "·"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A level line, with what is written beside it."""

    value: float
    label: str
    sign: str


def history_chart(series: Series) -> str:
    """The latest points, their weighted average, and the lines they are held against."""
    values = [point.value for point in series.points]
    start = max(0, len(values) - MOST_POINTS)
    shown, averages = values[start:], _averages(series)[start:]
    lines = _lines(series)
    scale = _Scale([*shown, *averages, *(line.value for line in lines)])
    step = 2 if len(shown) <= ROOMY else 1
    grid = [[" "] * (step * len(shown)) for _ in range(HEIGHT)]
    for line in lines:
        grid[scale.row(line.value)] = [line.sign] * (step * len(shown))
    for column, average in enumerate(averages):
        grid[scale.row(average)][step * column] = AVERAGE
    for column, value in enumerate(shown):
        wild = start + column in series.wild
        grid[scale.row(value)][step * column] = WILD if wild else STEADY
    labels = {scale.row(line.value): line.label for line in reversed(lines)}
    width = max(map(len, labels.values()), default=0)
    drawn = [
        f"{labels.get(row, ''):>{width}} ┤{''.join(cells)}".rstrip()
        for row, cells in enumerate(grid)
    ]
    foot = _foot(series.points[start].when, series.points[-1].when, step * len(shown))
    return "\n".join([*drawn, f"{'':{width + 2}}{foot}".rstrip()])


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


def _averages(series: Series) -> list[float]:
    return [] if series.ewma is None else list(series.ewma.averages)


def _lines(series: Series) -> list[Line]:
    """The centre first, so that its label stays where two fall on one row."""
    chart = series.individuals
    if isinstance(chart, NotYet):
        return []
    small = chart.upper - chart.centre or abs(chart.centre)

    def labelled(value: float, word: str, sign: str) -> Line:
        return Line(value=value, label=f"{word} {beside(value, small)}", sign=sign)

    if series.spread is not None:
        top = max(series.spread.upper)
        return [
            labelled(series.spread.pooled_sd, "pooled", "─"),
            labelled(top, "limit", "┄"),
        ]
    return [
        labelled(chart.centre, "mean", "─"),
        labelled(chart.upper, "limit", "┄"),
        labelled(chart.lower, "limit", "┄"),
    ]
