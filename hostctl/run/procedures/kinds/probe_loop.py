"""A probe loop: the machine's own probe touches again and again; nobody is asked between."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from hostctl.config.study_kind import SHIPPED, KindWords
from hostctl.records import Place
from hostctl.run.procedures.motions import BringAndRead, StepDeed
from hostctl.run.procedures.procedure import ProcedureParts, SoFar
from hostctl.run.procedures.schedule import Scheduled

if TYPE_CHECKING:
    from hostctl.config.study import Study


class ProbeLoop(Scheduled):
    """The probe lifts and goes to its point by itself."""

    words: ClassVar[KindWords] = SHIPPED["probe-loop"]

    @staticmethod
    def check(study: "Study") -> None:
        """Nobody is named, and it is the probe that reads."""
        from hostctl.config.checked import Misplaced

        for what, given in (("methods", study.methods), ("operators", study.operators)):
            if given:
                raise Misplaced("a probe loop asks nobody and has none", what)
        if study.gauge.kind != "probe":
            what = "a probe loop reads the probe"
            raise Misplaced(what, "gauge", "kind", next_step="Give 'kind: probe'.")

    def __init__(self, parts: ProcedureParts) -> None:
        super().__init__(parts, ["probe-loop"])

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        """A touch."""
        return (BringAndRead(point=place.point),)
