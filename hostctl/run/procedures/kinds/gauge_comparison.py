"""A gauge comparison: two gauges read the same place one after the other, again and again.

Each gauge at each point is a block of its own, named on record by the gauge; the blocks of point p,
counted from 1, are 2p - 1 (the first gauge) and 2p (the second). Trial t of both is a pair. Pairs
are read in turn: in odd ones the first gauge comes first, in even ones the second, so that what
drifts goes into neither. Each gauge comes anew for each reading.

Heights are compared, so where one of the two is the probe it is asked once which way the
indicator's plunger counts (event `plunger sign`); two indicators are taken to count the same way.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, ClassVar

from hostctl.config.parts.gauge import names_of
from hostctl.config.study_kind import SHIPPED, KindWords
from hostctl.deeds import PressPlunger
from hostctl.records import Place
from hostctl.run.procedures.motions import BringAndRead, StepDeed
from hostctl.run.procedures.procedure import (
    NO_OPERATOR,
    Finished,
    Next,
    ProcedureParts,
    SoFar,
    Trial,
)

if TYPE_CHECKING:
    from hostctl.config.study import Study

PROBE = "probe"


class GaugeComparison:
    """Both gauges at every point, pair after pair."""

    words: ClassVar[KindWords] = SHIPPED["gauge-comparison"]

    @staticmethod
    def check(study: "Study") -> None:
        """There are two gauges that can be told apart, and nothing is set."""
        from hostctl.config.checked import Misplaced

        if study.second_gauge is None:
            raise Misplaced("is missing, and is what the first is held against", "second_gauge")
        if study.methods:
            raise Misplaced("a gauge comparison sets nothing and has none", "methods")
        if len(study.operators) > 1:
            raise Misplaced("a gauge comparison is read by one person", "operators", 1)
        if study.reference != "datum":
            what = "a gauge comparison takes no zero; its readings are held against each other"
            raise Misplaced(what, "reference", next_step="Give 'reference: datum'.")
        one, other = study.gauge, study.second_gauge
        if one.kind == other.kind and one.kind in (PROBE, "typed"):
            what = f"two gauges of kind {one.kind} are one and the same"
            raise Misplaced(what, "second_gauge", "kind")
        if other.typed_in_graduations and not one.typed_in_graduations:
            what = "is the first gauge's to say for both"
            raise Misplaced(what, "second_gauge", "typed_in_graduations")

    @staticmethod
    def most_trials(study: "Study") -> int:
        """Two readings a pair."""
        return 2 * len(study.points) * study.trials

    def __init__(self, parts: ProcedureParts) -> None:
        study = parts.study
        assert study.second_gauge is not None  # such a study is refused
        self._names = names_of(study.gauge, study.second_gauge)
        self._has_probe = PROBE in self._names
        operator = study.operators[0] if study.operators else NO_OPERATOR
        self._trials = {trial.spot: trial for trial in self._order(study, operator)}

    def next(self, so_far: SoFar) -> Next:
        """The first reading not yet taken."""
        open_ = (trial for spot, trial in self._trials.items() if spot not in so_far.done)
        return next(open_, Finished(reason="all pairs are done"))

    def still_to_come(self, so_far: SoFar) -> Sequence[Trial]:
        """The last open reading of each block, and of the other block of its pairs."""
        open_ = {trial.block for spot, trial in self._trials.items() if spot not in so_far.done}
        pairs = {(block - 1) // 2 for block in open_}
        last = {block: trial for (block, _), trial in self._trials.items()}
        return [last[block] for block in sorted(last) if (block - 1) // 2 in pairs]

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        """Bring the one or the other and read it; before that, once, which way it counts."""
        second = place.block % 2 == 0
        read = BringAndRead(point=place.point, second=second)
        by_plunger = self._names[second] != PROBE
        if self._has_probe and by_plunger and so_far.grows_pressed is None:
            return PressPlunger(), read
        return (read,)

    def _order(self, study: "Study", operator: str) -> Iterator[Trial]:
        for at, point in enumerate(study.points):
            for pair in range(1, study.trials + 1):
                both = (0, 1) if pair % 2 else (1, 0)
                for which in both:
                    yield Trial(
                        block=2 * at + which + 1,
                        trial=pair,
                        method=self._names[which],
                        operator=operator,
                        point=point,
                    )
