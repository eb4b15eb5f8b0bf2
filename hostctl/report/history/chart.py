"""A series as a figure: its latest points."""

from hostctl.report.document.significant import beside
from hostctl.report.figures.history_chart import MOST_POINTS, HistoryChart, Level
from hostctl.report.history.result import Limits, Series


def history_chart(series: Series) -> HistoryChart:
    """The latest points, their weighted average, and the lines they are held against."""
    start = max(0, len(series.points) - MOST_POINTS)
    shown = series.points[start:]
    return HistoryChart(
        first=shown[0].when,
        last=shown[-1].when,
        values=tuple(point.value for point in shown),
        averages=(series.weighted_averages or ())[start:],
        wild=tuple(sorted(index - start for index in series.wild if index >= start)),
        levels=() if series.limits is None else _levels(series, series.limits),
    )


def _levels(series: Series, limits: Limits) -> tuple[Level, ...]:
    small = limits.upper - limits.centre or abs(limits.centre)

    def labelled(value: float, word: str) -> Level:
        return Level(value=value, label=f"{word} {beside(value, small)}", is_limit=word == "limit")

    if series.spread_limits is not None and series.pooled_sd is not None:
        return labelled(series.pooled_sd, "pooled"), labelled(max(series.spread_limits), "limit")
    return (
        labelled(limits.centre, "mean"),
        labelled(limits.upper, "limit"),
        labelled(limits.lower, "limit"),
    )
