"""A claim about a datum that is judged by limits for sigma and for the mean.

The datum may itself be doubtful: a target is, that a tie makes known. Its error is common to all
settings by that tie and no number of them averages it away. It takes half of the risk that is the
mean's, and the worst that is left decides, both ways: meets only where all would be well with the
datum as wrong as it may be, does not meet only where it would not be with the datum at its kindest.
Of one block, whose mean has limits of its own (`SpreadLimits.off`), mean and datum are drawn
together instead, at the whole of that risk.
"""

import math

from hostctl.metrology.basis.distributions import normal_quantile
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.claims.claim import Centre, Claim, SampleSpread, SpreadLimits
from hostctl.metrology.claims.tolerance import half_width_holding
from hostctl.metrology.rounded.mean import largest_shift

_SIGMAS = 12  # steps between the limits of sigma that the worst is sought among


def reach_about_datum(
    claim: Claim, limits: SpreadLimits, low: float, high: float, risk: float
) -> tuple[float, float]:
    """The worst sigma between its limits decides, with the worst mean that goes with it."""

    def half_width(sigma: float, off: float) -> float:
        return half_width_holding(claim.content, max(off, 0.0), sigma)

    if limits.off is not None:
        return half_width(low, limits.off.low), half_width(high, limits.off.high)
    off, root_n = abs(bias_of(claim, limits)), math.sqrt(limits.n)
    risk = risk if limits.datum_error is None else risk / 2
    most_wrong, least_wrong = limits.datum_doubt(risk), limits.datum_doubt(risk / limits.blocks)
    doubt = normal_quantile(1 - risk) / root_n
    least_doubt = normal_quantile(1 - risk / limits.blocks) / root_n
    least, most = [], []
    for step in range(_SIGMAS + 1):
        sigma = low + (high - low) * step / _SIGMAS
        moved = largest_shift(sigma, limits.resolution) if limits.resolution else 0.0
        as_read = limits.as_read or sigma
        least.append(half_width(sigma, off - least_doubt * as_read - moved - least_wrong))
        most.append(half_width(sigma, off + doubt * as_read + moved + most_wrong))
    return min(least), max(most)


def bias_of(claim: Claim, evidence: SampleSpread | SpreadLimits) -> float:
    """The mean less the datum. Raises NotEnough where the claim needs a datum and there is none."""
    if claim.centre is not Centre.DATUM:
        return 0.0
    if evidence.bias is None or not math.isfinite(evidence.bias):
        raise NotEnough(Reason(Why.NO_DATUM))
    return evidence.bias


def biases_of(claim: Claim, evidence: SampleSpread | SpreadLimits) -> list[float]:
    """One, or where the datum is doubtful the least and the greatest that it may be."""
    off = abs(bias_of(claim, evidence))
    if claim.centre is not Centre.DATUM or not isinstance(evidence, SpreadLimits):
        return [off]
    doubt = evidence.datum_doubt(claim.risk / 4)
    return [max(off - doubt, 0.0), off + doubt] if doubt else [off]
