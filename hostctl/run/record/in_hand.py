"""The readings of the block in hand, as every channel shows them: what counts, and nothing else.

A reading made void leaves them at once; the next block, or the same one begun again, begins anew.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from hostctl.news import News, Prompt, PromptOpened, ReadingKept, RunStarted, TrialMarked
from hostctl.records import Place
from hostctl.run.record.spots import Spot

MOST_SHOWN = 60
"""The newest so many: more can't be told apart on a screen."""

BlockId = tuple[int, int, int]  # run, block, round


@dataclass(frozen=True, slots=True, kw_only=True)
class InHand:
    """What counts of one block, by trial, in the order taken; its zero left out."""

    place: Place | None = None  # of the reading kept last; None: none was
    values_mm: Mapping[int, float] = field(default_factory=dict)  # from the zero, where there is
    resolution_mm: float | None = None

    @property
    def block(self) -> BlockId | None:
        """Which one it is."""
        return block_of(self.place) if self.place else None

    @property
    def readings_mm(self) -> tuple[float, ...]:
        """The newest last."""
        return tuple(self.values_mm.values())


def in_hand_after(held: InHand, news: News) -> InHand:
    """The block in hand once `news` has come."""
    match news:
        case ReadingKept():
            return _kept(held, news)
        case TrialMarked(place=place, mark="void") if block_of(place) == held.block:
            return replace(held, values_mm=_without(held, news))
        case _:
            return held


def trials_done_after(done: int, news: News) -> int:
    """How many trials of the run are kept or skipped once `news` has come. done: before it.

    A place tells how many were before its trial.
    """
    match news:
        case RunStarted():
            return news.trials_done
        case PromptOpened(prompt=Prompt(place=Place() as place)):
            return place.trials_done
        case ReadingKept(place=place, is_zero=is_zero):
            return place.trials_done + (1 if place.counts and not is_zero else 0)
        case TrialMarked(whole_block=False, place=place, mark=mark):
            return place.trials_done + (1 if place.counts and mark == "skipped" else 0)
        case _:
            return done


def skipped_after(skipped: frozenset[Spot], news: News) -> frozenset[Spot]:
    """Which trials of the run are left out once `news` has come. skipped: before it."""
    match news:
        case RunStarted():
            return frozenset(news.skipped)
        case TrialMarked(whole_block=True, place=place):
            return frozenset(spot for spot in skipped if spot[0] != place.block)
        case TrialMarked(place=place):
            spot = place.block, place.trial
            return skipped | {spot} if news.mark == "skipped" else skipped - {spot}
        case _:
            return skipped


def block_of(place: Place) -> BlockId:
    """Which block, of which run, begun for which time."""
    return place.run, place.block, place.round


def _kept(held: InHand, news: ReadingKept) -> InHand:
    block, trial = block_of(news.place), news.place.trial
    earlier = held.values_mm if block == held.block else {}
    values = {each: mm for each, mm in earlier.items() if each != trial}
    if not news.is_zero:
        values[trial] = news.reading.value_mm if news.relative_mm is None else news.relative_mm
    return InHand(
        place=news.place,
        values_mm=dict(list(values.items())[-MOST_SHOWN:]),
        resolution_mm=news.reading.resolution_mm,
    )


def _without(held: InHand, void: TrialMarked) -> Mapping[int, float]:
    if void.whole_block:
        return {}
    return {trial: mm for trial, mm in held.values_mm.items() if trial != void.place.trial}
