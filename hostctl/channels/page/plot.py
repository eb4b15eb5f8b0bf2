"""The readings of the block in hand, as the dot plot shows them."""

from dataclasses import dataclass, field, replace

from hostctl.channels.page.lately import Lately
from hostctl.records import News, Place, ReadingKept, TrialMarked

MOST_DOTS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """What counts of one block, by trial, in the order it was taken."""

    block: tuple[int, int, int] | None = None  # run, block, round
    values_mm: dict[int, float] = field(default_factory=dict)
    resolution_mm: float | None = None
    whose: str = ""

    @classmethod
    def from_record(cls, lately: Lately) -> "Plot":
        """What was read before the daemon came up."""
        return cls(
            values_mm=dict(enumerate(lately.readings_mm[-MOST_DOTS:])),
            resolution_mm=lately.resolution_mm,
            whose=lately.whose,
        )


def plotted(plot: Plot, news: News) -> Plot:
    """The plot once `news` has come."""
    match news:
        case ReadingKept():
            return _kept(plot, news)
        case TrialMarked(place=place, mark="void") if _block(place) == plot.block:
            values = {trial: mm for trial, mm in plot.values_mm.items() if trial != place.trial}
            return replace(plot, values_mm=values)
        case _:
            return plot


def _kept(plot: Plot, news: ReadingKept) -> Plot:
    value_mm = news.reading.value_mm if news.relative_mm is None else news.relative_mm
    values = dict(plot.values_mm) if plot.block == _block(news.place) else {}
    if not news.is_zero:
        values.pop(news.place.trial, None)
        values[news.place.trial] = value_mm
    return Plot(
        block=_block(news.place),
        values_mm=dict(list(values.items())[-MOST_DOTS:]),
        resolution_mm=news.reading.resolution_mm,
        whose=whose(news.place),
    )


def whose(place: Place) -> str:
    """`paper-slip · volunteer-a · front-left`: whose block it is."""
    return " · ".join(name for name in (place.method, place.operator, place.point) if name)


def _block(place: Place) -> tuple[int, int, int]:
    return place.run, place.block, place.round
