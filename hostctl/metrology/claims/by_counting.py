"""The claim judged by counting readings alone, where the normal law is in doubt.

About a datum: how many readings lie within the tolerance of it, with exact binomial limits. The
claim has to hold in each block, so each must show it; that one block refutes it could be said
wrongly more often for their being several, so there they share the risk.

About a mean of their own, readings can't be counted from that mean: it came out of the same
readings, and limits for a count would be too hopeful. Two things hold without it.

- From smallest to largest, 93 settings of one block hold 95 % of what is to come at 95 % confidence
  (Wilks 1941; ISO 16269-6:2014, 6; from memory); with more, as many may be left out at either end
  as the number of settings allows. Where that band's farther end is within the tolerance of the
  settings' average, wherever that may lie, the claim is met. Four fifths of the risk are the
  band's, a fifth the average's, which of so many is as good as normal. The largest block speaks; no
  other may reach farther.
- However the centre lies, no more readings can be within the tolerance of it than are in the
  fullest band of that width. Where so few are too few even so, the claim is false about any centre.

A reading stands for its whole graduation: to meet, all of that must be inside; to fail, outside.
The rig's scatter is in the readings, so what meets is method and rig together. What fails must do
so by more than the rig's reach: three of its standard deviations, which 0.27 % of readings exceed.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from statistics import fmean, stdev

from hostctl.metrology.basis.confidence_box import ConfidenceBox
from hostctl.metrology.basis.distributions import binomial_cdf, normal_quantile
from hostctl.metrology.basis.estimate import Readings, finite_sample
from hostctl.metrology.basis.reason import Number, Reason, Why
from hostctl.metrology.basis.root_finding import fewest
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.decision import decide_by_counting
from hostctl.metrology.claims.tolerance import proportion_interval, settings_for_extremes
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets, Verdict

RIG_REACH = 3.0  # standard deviations of the rig
_OF_AVERAGE = 0.2  # of the risk
_BEYOND_REACH = 0.0027  # share of a normal law beyond three, on both sides
_TOUCHES = 1e-9  # of the tolerance: readings are decimal numbers


def decide_without_law(
    claim: Claim,
    blocks: Sequence[Readings],
    *,
    resolution: float,
    rig_sd: float | None,
    datum_error: ConfidenceBox | None = None,
) -> Verdict:
    """Meets, does not meet or cannot tell, no law assumed for settings.

    blocks: settings, zeros that count among them, from the datum where the claim is about one.
    rig_sd: an upper limit, wrong in at most half of `claim.risk`; 0 where nobody set anything,
    None where not known: then nothing is found not to meet.  datum_error: where the datum may lie
    wrong, as a target by a tie; half of the risk goes to that, shared by blocks, whose ties may be
    several.  Raises NotEnough for no number.
    """
    ordered = [sorted(finite_sample(block, least=0, what="a block")) for block in blocks]
    ordered = [block for block in ordered if block]
    tolerance = claim.tolerance * (1.0 + _TOUCHES)
    doubt = 0.0
    if datum_error is not None:
        doubt = datum_error.farthest(claim.risk / 2 / len(ordered))
        claim = replace(claim, confidence=1.0 - (1.0 - claim.confidence) / 2)
    met = _met(claim, ordered, tolerance - doubt, resolution)
    if isinstance(met, Meets) or rig_sd is None:
        return met
    widened = tolerance + doubt + resolution / 2.0 + RIG_REACH * rig_sd
    return _refuted(claim, ordered, widened, rig_sd) or met


def _met(
    claim: Claim, blocks: Sequence[Sequence[float]], tolerance: float, resolution: float
) -> Meets | CannotTellYet:
    if claim.centre is Centre.DATUM:
        return _met_about_datum(claim, blocks, tolerance - resolution / 2.0)
    largest, risk = max(blocks, key=len), (1.0 - _OF_AVERAGE) * claim.risk
    n, cut = len(largest), left_out(claim.content, risk, len(largest))
    least = settings_for_extremes(claim.content, 1.0 - risk)
    claimed: dict[str, Number] = {"tolerance": claim.tolerance, "unit": claim.unit}
    reaches = [_reach(block, left_out(claim.content, risk, len(block))) for block in blocks]
    reach = max(reaches) + resolution / 2.0
    if n >= least:
        reach += _average_off(largest, _OF_AVERAGE * claim.risk)
    if reach > tolerance:
        return _open(Reason(Why.BAND_WIDER, reach=reach, **claimed))
    if n < least:
        later = (1.0 - _OF_AVERAGE) * _later(claim).risk
        least = settings_for_extremes(claim.content, 1.0 - later)
        return _open(Reason(Why.BAND_TOO_FEW, n=n, least=least, **claimed))
    return Meets(
        why=Reason(
            Why.BAND_HOLDS,
            n=n,
            left_out=2 * cut,
            reach=reach,
            share=claim.content,
            confidence=1.0 - claim.risk,
            **claimed,
        )
    )


def _met_about_datum(
    claim: Claim, blocks: Sequence[Sequence[float]], within: float
) -> Meets | CannotTellYet:
    """The block with the least share decides."""
    counts = [(sum(abs(value) <= within for value in block), len(block)) for block in blocks]
    sure = 1.0 - 2.0 * claim.risk
    inside, n = min(counts, key=lambda count: proportion_interval(count[0], count[1], sure).low)
    found = decide_by_counting(claim, inside, n)
    if isinstance(found, Meets):
        return found
    least = settings_for_extremes(claim.content, 1.0 - _later(claim).risk, two_sided=False)
    claimed: dict[str, Number] = {"tolerance": claim.tolerance, "unit": claim.unit}
    claimed["centre"] = claim.centre
    return _open(Reason(Why.COUNT_OPEN, inside=inside, n=n, least=least, **claimed))


def _refuted(
    claim: Claim, blocks: Sequence[Sequence[float]], within: float, rig_sd: float
) -> DoesNotMeet | None:
    """What is left of the risk by the rig's limit is shared by blocks, where each is counted."""
    about_datum = claim.centre is Centre.DATUM
    shares = (2 if rig_sd > 0.0 else 1) * (len(blocks) if about_datum else 1)
    short = _BEYOND_REACH if rig_sd > 0.0 else 0.0
    confidence = 1.0 - (1.0 - claim.confidence) / shares
    stricter = replace(claim, confidence=confidence, content=claim.content - short)
    if about_datum:
        counts = [(sum(abs(value) <= within for value in block), len(block)) for block in blocks]
    else:
        fullest = sum(most_in_a_band(block, 2.0 * within) for block in blocks)
        counts = [(fullest, sum(map(len, blocks)))]
    for inside, n in counts:
        found = decide_by_counting(stricter, inside, n)
        if isinstance(found, DoesNotMeet):
            claimed: dict[str, Number] = {"tolerance": claim.tolerance, "unit": claim.unit}
            if about_datum:
                claimed["centre"] = claim.centre
            about = Why.FEW_NEAR_DATUM if about_datum else Why.NO_BAND_HOLDS
            return DoesNotMeet(why=Reason(about, inside=inside, n=n, **claimed))
    return None


def left_out(content: float, risk: float, n: int) -> int:
    """How many of n settings may be left out at either end of the band that holds `content`; none
    where n is too few."""

    def too_many(cut: int) -> bool:
        return cut > n or binomial_cdf(n - 2 * cut, n, content) < 1.0 - risk

    # the band from the cut-th smallest to the cut-th largest leaves out one less at either end
    return max(fewest(too_many, least=1) - 2, 0)


def most_in_a_band(ordered: Sequence[float], width: float) -> int:
    """The most of these values, in order, that a band of this width can hold."""
    most = first = 0
    for last, value in enumerate(ordered):
        while value - ordered[first] > width:
            first += 1
        most = max(most, last - first + 1)
    return most


def _reach(ordered: Sequence[float], cut: int) -> float:
    """How far from the average the band reaches, the outermost left out."""
    average = fmean(ordered)
    return max(ordered[len(ordered) - 1 - cut] - average, average - ordered[cut])


def _average_off(values: Sequence[float], risk: float) -> float:
    """How far their average may be from that of all settings to come."""
    return normal_quantile(1.0 - risk / 2.0) * stdev(values) / math.sqrt(len(values))


def _later(claim: Claim) -> Claim:
    """As it will be judged after more settings."""
    return claim.at_next_look or claim


def _open(why: Reason) -> CannotTellYet:
    """How many more would decide is not foretold: that takes a law."""
    return CannotTellYet(why=why, further_trials=None, power=0.0)
