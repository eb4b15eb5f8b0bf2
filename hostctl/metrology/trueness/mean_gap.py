"""The mean gap by a tie, and how far it is off target."""

from dataclasses import dataclass
from functools import cached_property

from hostctl.metrology.basis.confidence_box import ConfidenceBox
from hostctl.metrology.basis.estimate import Interval
from hostctl.metrology.comparison.mean_difference import mean_difference
from hostctl.metrology.rounded.mean import MeanEvidence
from hostctl.metrology.trueness.constant import CONFIDENCE, TieConstant, standard_uncertainty


@dataclass(frozen=True)
class MeanGap:
    """The mean gap of a method in one pair of hands, mm.

    value: as reckoned.  target: the gap meant.  tie_share: of the variance of `value`; the rest is
    the settings'.  of_settings: where the mean may lie, were the tie's constant right.  of_tie:
    where that constant may lie wrong.
    """

    value: float
    target: float
    tie_share: float
    of_settings: ConfidenceBox
    of_tie: ConfidenceBox

    @cached_property
    def interval(self) -> Interval:
        """Where it may lie, at 95 %, with rounding, rig and tie in it."""
        return self.limits(0.5 * (1.0 - CONFIDENCE))

    def limits(self, risk: float) -> Interval:
        """Where it may lie; each limit is wrong with at most this risk."""
        found = mean_difference(self.of_settings, self.of_tie.mirrored, alpha=2.0 * risk)
        return found.interval

    @property
    def off(self) -> float:
        """Off target by so much; positive: too wide."""
        return self.value - self.target

    @property
    def off_interval(self) -> Interval:
        """Where that may lie, at 95 %."""
        low, high = self.interval.low - self.target, self.interval.high - self.target
        return Interval(low=low, high=high, confidence=self.interval.confidence)

    @property
    def correction(self) -> float:
        """How much wider to aim, so that the mean comes out on target; negative: narrower."""
        return -self.off

    @property
    def correction_interval(self) -> Interval:
        """Where the right correction lies, at 95 %."""
        off = self.off_interval
        return Interval(low=-off.high, high=-off.low, confidence=off.confidence)

    def reach(self, risk: float) -> Interval:
        """How far from target the mean gap is at least and at most, whichever way; each limit is
        wrong with at most this risk. For a claim about the target: `SpreadLimits.off`."""
        limits = self.limits(risk)
        low, high = limits.low - self.target, limits.high - self.target
        return Interval(low=max(low, -high, 0.0), high=max(high, -low), confidence=1.0 - 2.0 * risk)


def mean_gap(tie: TieConstant, mean: MeanEvidence, *, target: float) -> MeanGap:
    """The mean of gaps reckoned with `tie.value`, with the tie's own doubt.

    target: the gap meant; 0 where what is averaged are deviations from it.
    The tie's error is common to all gaps reckoned with it: it drops out of their differences, and
    more settings don't average it away. So two methods are compared by their means alone
    (`comparison/mean_difference`), without it.
    """
    of_tie = tie.standard_uncertainty**2
    of_settings = standard_uncertainty(mean.interval(CONFIDENCE)) ** 2
    return MeanGap(
        value=mean.value,
        target=target,
        tie_share=of_tie / (of_tie + of_settings),
        of_settings=mean.box,
        of_tie=tie.error,
    )
