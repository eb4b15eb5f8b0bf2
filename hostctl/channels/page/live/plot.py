"""The readings of the block in hand, as the dot plot shows them."""

from dataclasses import dataclass, field, replace

from hostctl.channels.page.live.lately import Lately, whose
from hostctl.records import News, ReadingKept
from hostctl.run.record.in_hand import MOST_SHOWN, InHand, in_hand_after


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """What counts of one block, and whose it is."""

    in_hand: InHand = field(default_factory=InHand)
    whose: str = ""

    @classmethod
    def from_record(cls, lately: Lately) -> "Plot":
        """What was read before the daemon came up."""
        newest = lately.readings_mm[-MOST_SHOWN:]
        return cls(
            in_hand=InHand(values_mm=dict(enumerate(newest)), resolution_mm=lately.resolution_mm),
            whose=lately.whose,
        )


def plotted(plot: Plot, news: News) -> Plot:
    """The plot once `news` has come."""
    in_hand = in_hand_after(plot.in_hand, news)
    if isinstance(news, ReadingKept):
        return Plot(in_hand=in_hand, whose=whose(news.place))
    return replace(plot, in_hand=in_hand)
