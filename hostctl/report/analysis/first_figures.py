"""The figures of the first verdict: for each method and operator, from its readings."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reference import Reference, settings_of
from hostctl.metrology.rounded.rounding import RoundedSpread, rounded_spread
from hostctl.report.sources.samples import Sample


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What one sample comes to, mm.

    mean_mm: of the readings, which count from their blocks' zeros.
    range_mm: the widest block's, its zero included where that is a setting.
    largest_mm: the largest distance of a setting from its block's mean.
    spread: pooled over blocks, each about its own mean; the reason where it can't be had.
    """

    sample: Sample
    mean_mm: float
    range_mm: float
    largest_mm: float
    spread: RoundedSpread | NotYet

    @property
    def reach_mm(self) -> float | None:
        """One figure to rank by: the spread, or where only a bound is known, that bound."""
        match self.spread:
            case RoundedSpread(quoted=NotYet()) as bounded:
                return bounded.interval.high
            case RoundedSpread(quoted=estimate):
                return estimate.value if not isinstance(estimate, NotYet) else None
            case NotYet():
                return None


def figures_of(sample: Sample, reference: Reference) -> Figures:
    """The figures of a sample, which has at least one reading."""
    settings = [_settings(block, reference) for block in sample.blocks]
    return Figures(
        sample=sample,
        mean_mm=fmean(sample.readings_mm),
        range_mm=max(max(block) - min(block) for block in settings),
        largest_mm=max(abs(value - fmean(block)) for block in settings for value in block),
        spread=_spread(sample, reference),
    )


def _settings(block: Sequence[float], reference: Reference) -> list[float]:
    return [float(value) for value in settings_of(block, reference)]


def _spread(sample: Sample, reference: Reference) -> RoundedSpread | NotYet:
    try:
        return rounded_spread(sample.blocks, resolution=sample.resolution_mm, reference=reference)
    except NotEnough as why:
        return NotYet(reason=why.reason)
