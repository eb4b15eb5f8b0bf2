"""A rig check: the cycle again and again with nothing adjusted, to find what the rig alone adds."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from hostctl.config.study_kind import SHIPPED, KindWords
from hostctl.records import Place
from hostctl.run.procedures.motions import BringAndRead, GoAway, StepDeed
from hostctl.run.procedures.procedure import ProcedureParts, SoFar
from hostctl.run.procedures.schedule import Scheduled

if TYPE_CHECKING:
    from hostctl.config.study import Study


class RigCheck(Scheduled):
    """The gauge goes away and comes back, so that coming back is part of each reading."""

    words: ClassVar[KindWords] = SHIPPED["rig-check"]

    @staticmethod
    def check(study: "Study") -> None:
        """There is nothing to be done by a method."""
        from hostctl.config.checked import Misplaced

        if study.methods:
            raise Misplaced("a rig check adjusts nothing and has none", "methods")

    def __init__(self, parts: ProcedureParts) -> None:
        super().__init__(parts, ["rig-check"])

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        """Away and back."""
        away_and_back = (GoAway(point=place.point), BringAndRead(point=place.point))
        return self.zero_on_block(place) or away_and_back
