"""A stranger's kind of study that proposes whatever a test wants, right or wrong."""

from collections.abc import Callable, Sequence
from typing import Any, ClassVar

from hostctl.config.study import Study
from hostctl.config.study_kind import KindWords
from hostctl.records import Place
from hostctl.run.procedures.motions import BringAndRead, GoAway
from hostctl.run.procedures.procedure import Finished, Next, ProcedureParts, SoFar, Trial

SETS = KindWords(about="Odd.")
SETS_NOTHING = KindWords(about="Odd.", nobody_sets="nothing", readings="Readings of nothing")
ASKS_NOBODY = KindWords(
    about="Odd.", nobody_sets="nothing", readings="Readings of nothing", asks_nobody=True
)


def trial(number: int = 1, **changes: Any) -> Trial:
    given: dict[str, Any] = {
        "block": 1,
        "trial": number,
        "method": "odd",
        "operator": "",
        "point": "front-left",
    }
    return Trial(**(given | changes))


def one_after_the_other(so_far: SoFar) -> Next:
    """Three trials."""
    numbers = [number for number in (1, 2, 3) if (1, number) not in so_far.done]
    return trial(numbers[0]) if numbers else Finished(reason="all is done")


def away_and_back(place: Place, so_far: SoFar) -> Sequence[Any]:
    return [GoAway(point=place.point), BringAndRead(point=place.point)]


class Odd:
    """Its parts are put in by tests."""

    words: ClassVar[KindWords] = SETS_NOTHING
    following: ClassVar[Callable[[SoFar], Any]] = staticmethod(one_after_the_other)
    way: ClassVar[Callable[[Place, SoFar], Any]] = staticmethod(away_and_back)

    @staticmethod
    def check(study: Study) -> None:
        pass

    @staticmethod
    def most_trials(study: Study) -> int:
        return 3

    def __init__(self, parts: ProcedureParts) -> None:
        pass

    def next(self, so_far: SoFar) -> Next:
        proposed: Next = type(self).following(so_far)
        return proposed

    def still_to_come(self, so_far: SoFar) -> Sequence[Trial]:
        following = self.next(so_far)
        return [following] if isinstance(following, Trial) else []

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[Any]:
        given: Sequence[Any] = type(self).way(place, so_far)
        return given
