"""A stranger's kind of study: touches of the probe until their spread is known well enough.

It stops when the 95 % interval of the standard deviation (chi-square; NIST/SEMATECH e-Handbook
1.3.5.8) is no wider than the study's `within_mm`, or after the study's `trials`.
"""

from collections.abc import Sequence
from statistics import stdev
from typing import ClassVar

from hostctl.config.checked import Misplaced
from hostctl.config.study import Study
from hostctl.config.study_kind import KindWords
from hostctl.metrology.basis.distributions import chi_square_quantile
from hostctl.records import Place
from hostctl.run.procedures.motions import BringAndRead, StepDeed
from hostctl.run.procedures.procedure import Decision, Finished, Next, ProcedureParts, SoFar, Trial

FEWEST = 5


class UntilKnown:
    """One point, one block; nobody is asked between."""

    words: ClassVar[KindWords] = KindWords(
        about="Touches of the probe until their spread is known well enough.",
        nobody_sets="the probe",
        readings="Touches of the probe",
        asks_nobody=True,
        judges_zero=True,
    )
    width_counts: ClassVar[bool] = True  # tests switch the rule off

    @staticmethod
    def check(study: Study) -> None:
        """It needs to know how well is well enough."""
        if study.tolerance is None:
            raise Misplaced("says how well the spread is to be known, and is missing", "tolerance")

    @staticmethod
    def most_trials(study: Study) -> int:
        return study.trials

    def __init__(self, parts: ProcedureParts) -> None:
        self._study, self._first = parts.study, 0 if parts.zeros else 1

    def next(self, so_far: SoFar) -> Next:
        if so_far.decisions:
            return Finished(reason=so_far.decisions[-1].what)
        width_mm, n = self._width_mm(so_far.values_mm(1)), len(so_far.values_mm(1))
        assert self._study.tolerance is not None
        if self.width_counts and n >= FEWEST and width_mm <= self._study.tolerance.within_mm:
            what = f"the spread is known to within {width_mm:.4f} mm after {n} touches"
            return Decision(what=what, data={"touches": n, "width_mm": width_mm})
        numbers = range(self._first, self._study.trials + 1)
        trial = next((number for number in numbers if (1, number) not in so_far.done), None)
        if trial is None:
            return Finished(reason=f"all {self._study.trials} touches are made")
        point = self._study.points[0]
        return Trial(block=1, trial=trial, method="until-known", operator="", point=point)

    def still_to_come(self, so_far: SoFar) -> Sequence[Trial]:
        following = self.next(so_far)
        return [following] if isinstance(following, Trial) else []

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        return [BringAndRead(point=place.point)]

    def _width_mm(self, values_mm: Sequence[float]) -> float:
        """Of the interval; readings all alike are spread by their rounding at least."""
        df = len(values_mm) - 1
        if df < 1:
            return float("inf")
        sd_mm = max(stdev(values_mm), self._study.gauge.resolution_mm / 12**0.5)
        ends = [(df / chi_square_quantile(p, df)) ** 0.5 for p in (0.025, 0.975)]
        return sd_mm * (ends[0] - ends[1])
