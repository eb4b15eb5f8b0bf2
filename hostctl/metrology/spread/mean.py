"""The mean of one method and operator against a datum, and how far off it may be."""

import math
from collections.abc import Sequence

from hostctl.metrology.basis.estimate import Estimate, NotYet, Readings
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.rounded.mean import (
    MeanEvidence,
    largest_shift,
    least_sd,
    mean_of_means,
    mean_of_readings,
)

_NO_MEAN = {"first": Why.ZERO_IS_FIRST_SETTING, "previous": Why.READINGS_ARE_DIFFERENCES}


def mean_of_blocks(
    blocks: Sequence[Readings], *, resolution: float, least_sigma: float
) -> MeanEvidence:
    """The readings are the sample where there is one block, else the means of the blocks.

    least_sigma: the lower limit of the spread within blocks. Where neither readings nor blocks are
    sure to scatter enough, rounding may have moved all block means alike, and the limits allow for
    that.  Raises NotEnough for one block of one reading.
    """
    if len(blocks) == 1:
        return mean_of_readings(blocks[0], resolution=resolution)
    means = [math.fsum(block) / len(block) for block in blocks]
    return mean_of_means(
        means,
        step=resolution / min(map(len, blocks)),
        shift=largest_shift(max(least_sigma, least_sd(means)), resolution),
    )


def mean_against_datum(
    blocks: Sequence[Readings],
    *,
    resolution: float,
    reference: Reference,
    least_sigma: float,
    confidence: float = 0.95,
) -> Estimate | NotYet:
    """The mean with its interval; NotYet where there is no datum, or one reading.

    Arguments as in `mean_of_blocks`. Raises NotEnough where a reading is not a number or off the
    grid.
    """
    if reference != "datum":
        return NotYet(reason=Reason(_NO_MEAN[reference]))
    if max(len(blocks), *map(len, blocks)) < 2:
        return NotYet(reason=Reason(Why.ONE_READING), needs_n=2)
    known = mean_of_blocks(blocks, resolution=resolution, least_sigma=least_sigma)
    one = len(blocks) == 1
    means = [math.fsum(block) / len(block) for block in blocks]
    return Estimate(
        value=math.fsum(means) / len(means),
        interval=known.interval(confidence),
        n=len(blocks[0]) if one else len(blocks),
        how="mean, by the likelihood of rounded readings" if one else "mean of block means",
        source="Student 1908, Biometrika 6, 1-25",
    )
