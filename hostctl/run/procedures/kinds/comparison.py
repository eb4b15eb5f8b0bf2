"""A comparison: operators set the gap, by one method or several."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, ClassVar

from hostctl.config.study_kind import SHIPPED, KindWords
from hostctl.deeds import SetGap
from hostctl.records import TIE_METHOD, Place
from hostctl.run.procedures.motions import BringAndRead, GoOver, StepDeed
from hostctl.run.procedures.procedure import Next, ProcedureParts, SoFar
from hostctl.run.procedures.schedule import Scheduled
from hostctl.run.procedures.turning_away import turn_away_deg, turned_away
from hostctl.run.procedures.tying import Tying, blocks_of_its_own, tie_deeds

if TYPE_CHECKING:
    from hostctl.config.study import Study


class Comparison(Scheduled):
    """Before each reading the screw is turned away, and the gap set. Ties come between."""

    words: ClassVar[KindWords] = SHIPPED["comparison"]

    @staticmethod
    def check(study: "Study") -> None:
        """Somebody sets the gap, somehow."""
        from hostctl.config.checked import Misplaced

        for what, given in (("methods", study.methods), ("operators", study.operators)):
            if not given:
                raise Misplaced("a comparison needs at least one", what)

    def __init__(self, parts: ProcedureParts) -> None:
        super().__init__(parts, [method.name for method in parts.study.methods])
        own = blocks_of_its_own(parts.study)
        trials = self.most_trials(parts.study)
        self._tying = Tying(parts.study, blocks=own, trials=trials) if own else None

    def next(self, so_far: SoFar) -> Next:
        """The next trial, but for a tie that is due before it, or before the end."""
        upcoming = self.next_on_schedule(so_far)
        return self._tying.before(upcoming, so_far) if self._tying else upcoming

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        """Set, then read; but a zero on a gauge block comes before anything is set."""
        if place.method == TIE_METHOD:
            return tie_deeds(self._parts.study, place.point)
        return self.zero_on_block(place) or tuple(self._set_and_read(place))

    def _set_and_read(self, place: Place) -> Iterator[StepDeed]:
        yield GoOver(point=place.point)
        turn_deg = turn_away_deg(self._parts.study, self._parts.seed, place)
        if turn_deg:
            yield turned_away(self._parts.machine, place.point, turn_deg)
        yield SetGap(method=place.method)
        yield BringAndRead(point=place.point)
