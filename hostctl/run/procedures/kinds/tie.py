"""A tie study: the tie alone, again and again, to learn how it scatters."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from hostctl.config.study_kind import SHIPPED, KindWords
from hostctl.records import TIE_METHOD, Place
from hostctl.run.procedures.motions import StepDeed
from hostctl.run.procedures.procedure import ProcedureParts, SoFar
from hostctl.run.procedures.schedule import Scheduled
from hostctl.run.procedures.tying import tie_deeds

if TYPE_CHECKING:
    from hostctl.config.study import Study


class TieStudy(Scheduled):
    """Each trial is one observation of the tie: the nozzle told of the surface, then a reading."""

    words: ClassVar[KindWords] = SHIPPED["tie"]

    @staticmethod
    def check(study: "Study") -> None:
        """There is nothing to be done by a method, and it has a tie."""
        from hostctl.config.checked import Misplaced

        if study.methods:
            raise Misplaced("a tie study sets nothing and has none", "methods")
        if study.tie is not None and study.tie.points is not None:
            raise Misplaced("a tie study makes it at its own points", "tie", "points")
        if study.reference != "gap":
            what = "a tie study is about the true gap"
            raise Misplaced(what, "reference", next_step="Give 'reference: gap'.")

    def __init__(self, parts: ProcedureParts) -> None:
        super().__init__(parts, [TIE_METHOD])

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        """One observation."""
        return tie_deeds(self._parts.study, place.point)
