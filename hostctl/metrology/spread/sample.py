"""One block of readings, or several of one method and operator, described without any model.

Sums are correctly rounded (`math.fsum`) and deviations taken twice from the mean, so that readings
that share a large common part lose no digits (Chan, Golub, LeVeque, The American Statistician 37,
1983). Rounding of the readings is ignored here; see rounding.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hostctl.metrology.basis.estimate import (
    Estimate,
    Interval,
    NotEnough,
    Readings,
    finite_sample,
)
from hostctl.metrology.basis.ordinary_spread import spread_estimate
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.reference import Reference, settings_of, spread_freedom

# ISO 5725-6:1994, 4.1.4: the limit two single results keep within 95 times in 100 is
# 1.96 sqrt(2) standard deviations, which the standard rounds to 2.8.
REPEATABILITY_FACTOR = 2.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Moments:
    """Mean and standard deviation (divisor n - 1) to the last digits, of a whole sample."""

    n: int
    mean: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """What blocks of one method show, in the unit of the readings.

    settings: how many settings of the gap; with `first` each block's zero counts as one.
    sd: the standard deviation of one setting, with its interval.  df: its degrees of freedom.
    range: largest less smallest setting within a block.  largest_deviation: from its block's mean.
    With `previous` both are of the readings, which are differences.
    repeatability_limit: two settings of the same hands differ by less, 95 times in 100.
    """

    reference: Reference
    blocks: int
    readings: int
    settings: int
    df: float
    sd: Estimate
    range: float
    largest_deviation: float
    repeatability_limit: Estimate


def moments(values: Readings) -> Moments:
    """Mean and standard deviation of at least two values."""
    sample = finite_sample(values, least=2, what="a standard deviation")
    mean, deviations = _centred(sample)
    squares = math.fsum(deviation * deviation for deviation in deviations)
    return Moments(n=len(sample), mean=mean, sd=math.sqrt(squares / (len(sample) - 1)))


def describe(
    blocks: Sequence[Readings], *, reference: Reference = "datum", confidence: float = 0.95
) -> Sample:
    """Describe blocks of one method and operator, each block with a mean of its own.

    reference: what the readings of each block are relative to. With `first`, the zero is one more
    setting. With `previous`, readings are differences of neighbouring settings: the standard
    deviation is divided by sqrt(2), and counts fewer degrees of freedom as they are correlated.
    Blocks with fewer than two values tell nothing of the spread.
    Raises NotEnough when no block has two, or a reading is not a number.
    """
    samples = [finite_sample(block, least=1, what="a block") for block in blocks]
    settings = [finite_sample(settings_of(s, reference), least=1, what="a block") for s in samples]
    usable = [sample for sample in settings if len(sample) >= 2]
    if not usable:
        raise NotEnough(Reason(Why.NO_TWO_SETTINGS))
    freedom = spread_freedom(list(map(len, usable)), reference)
    deviations = [d for sample in usable for d in _centred(sample)[1]]
    squares = math.fsum(d * d for d in deviations) / freedom.scale
    if reference == "previous":
        squares /= 2.0
    sd = spread_estimate(squares, freedom, confidence)
    return Sample(
        reference=reference,
        blocks=len(samples),
        readings=sum(map(len, samples)),
        settings=freedom.settings,
        df=freedom.df,
        sd=sd,
        range=max(map(_range, usable)),
        largest_deviation=max(map(abs, deviations)),
        repeatability_limit=repeatability_limit(sd),
    )


def _range(sample: Sequence[float]) -> float:
    return max(sample) - min(sample)


def _centred(sample: Sequence[float]) -> tuple[float, list[float]]:
    """The mean, and each value less it, both free of the rounding of a first mean."""
    rough = math.fsum(sample) / len(sample)
    around = [value - rough for value in sample]
    rest = math.fsum(around) / len(sample)
    return rough + rest, [value - rest for value in around]


def repeatability_limit(sd: Estimate) -> Estimate:
    """Two settings of the same hands differ by less, 95 times in 100. sd: of one setting.

    Source: ISO 5725-6:1994, 4.1.4.
    """
    return Estimate(
        value=REPEATABILITY_FACTOR * sd.value,
        interval=Interval(
            low=REPEATABILITY_FACTOR * sd.low,
            high=REPEATABILITY_FACTOR * sd.high,
            confidence=sd.interval.confidence,
        ),
        n=sd.n,
        how="2.8 standard deviations",
        source="ISO 5725-6:1994, 4.1.4",
    )
