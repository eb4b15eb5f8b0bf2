"""The claim "at least p of future settings lie within ±T, at confidence c", and its verdict.

A study yields an interval for the half-width h that holds exactly the share p of settings: `reach`.
T at or above its upper end: meets. T below its lower end: does not meet. In between: cannot tell.
Each end errs in at most 1 - c of studies, so a claim that is false is called met that rarely.
What h is measured from is the claim's centre.

LONG_RUN_MEAN, for blocks zeroed once (reference `first`), from which bias can't be known: the
mean that the method would show in the long run. h = z σ with z the (1 + p)/2 normal quantile, so
the ends are z times the one-sided confidence limits of σ.

STUDY_MEAN, where the offset will be set from this very study: its mean x̄. The ends are k s with k
the exact two-sided tolerance factors at confidence c and 1 - c (ISO 16269-6, from memory).

DATUM, where a gauge block or the probe's own zero gives the true gap: the bias counts too, and the
ends are quantiles of h under the law in `datum_reach`, at 1 - risk and at a quarter of the risk.

Evidence may instead be limits for σ found elsewhere (rounding taken into account, rig taken out).
Then, for a centre that involves a mean, half the risk goes to the mean's error, with limits of its
own where readings are rounded, and half to σ, and the worst pair decides: safe, and somewhat
wasteful. Several blocks about a datum, each with a mean of its own, are judged by
the worst: the claim has to hold in each. That it does can't be said wrongly more often for their
being several; that it does not could, so there the blocks share the risk (Bonferroni). Where the
datum itself is doubtful, as a target is that a tie makes known, see `about_datum`.
"""

import math
from collections.abc import Callable
from functools import partial
from typing import assert_never

from hostctl.metrology.basis.distributions import (
    chi_square_cdf,
    chi_square_quantile,
    chi_square_sf,
    normal_cdf,
    normal_quantile,
)
from hostctl.metrology.basis.estimate import Interval, NotEnough, NotYet
from hostctl.metrology.basis.reason import Number, Reason, Why
from hostctl.metrology.basis.root_finding import fewest
from hostctl.metrology.claims.about_datum import bias_of, biases_of, reach_about_datum
from hostctl.metrology.claims.claim import Centre, Claim, SampleSpread, SpreadLimits
from hostctl.metrology.claims.datum_reach import half_width_quantile
from hostctl.metrology.claims.tolerance import (
    half_width_holding,
    proportion_interval,
    settings_for_extremes,
    two_sided_factor,
)
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets, Verdict

POWER = 0.8
MOST_TRIALS = 2000
LOW_SHARE = 0.25


def decide(
    claim: Claim,
    evidence: SampleSpread | SpreadLimits,
    *,
    power: float = POWER,
    most: int = MOST_TRIALS,
    foreseen: Callable[[], int | NotYet] | None = None,
) -> Verdict:
    """Meets, does not meet, or cannot tell yet, with the number of further trials.

    That number is the smallest after which, were the spread and bias just found the true ones, a
    verdict either way would come with at least `power`; None if not within `most` trials in all.
    It is for the next look, whose share of the risk may be smaller.
    foreseen: works it out where more is known than the evidence has, as `foresight` does.
    Raises NotEnough where the claim needs a datum and there is none, ValueError where σ's limits
    are too loose.
    """
    band = reach(claim, evidence)
    numbers: dict[str, Number] = {
        "share": claim.content,
        "tolerance": claim.tolerance,
        "unit": claim.unit,
        "centre": claim.centre,
        "blocks": _blocks(evidence),
    }
    sure = claim.confidence
    if claim.tolerance >= band.high:
        return Meets(why=Reason(Why.REACH_WITHIN, high=band.high, confidence=sure, **numbers))
    if claim.tolerance < band.low:
        return DoesNotMeet(why=Reason(Why.REACH_BEYOND, low=band.low, confidence=sure, **numbers))
    more = _more_trials(claim, evidence, power, most, foreseen)
    return CannotTellYet(
        why=Reason(Why.REACH_AROUND, low=band.low, high=band.high, **numbers),
        further_trials=more if isinstance(more, int) else None,
        power=power,
        why_no_trials=more.reason if isinstance(more, NotYet) else None,
    )


def _more_trials(
    claim: Claim,
    evidence: SampleSpread | SpreadLimits,
    power: float,
    most: int,
    foreseen: Callable[[], int | NotYet] | None,
) -> int | NotYet | None:
    """For the look after this one."""
    ahead = claim.at_next_look
    if ahead is None:
        return NotYet(reason=Reason(Why.NO_LOOK_LEFT))
    return foreseen() if foreseen else further_trials(ahead, evidence, power=power, most=most)


def reach(claim: Claim, evidence: SampleSpread | SpreadLimits) -> Interval:
    """Where the half-width may lie that holds exactly `claim.content` of settings.

    Each end is wrong in at most `claim.risk`; the tolerance itself plays no part.
    """
    match evidence:
        case SampleSpread():
            low = _end_of_sample(claim, evidence, high=False)
            high = _end_of_sample(claim, evidence, high=True)
        case SpreadLimits():
            low, high = _reach_of_limits(claim, evidence)
        case never:
            assert_never(never)
    return Interval(low=low, high=high, confidence=1 - 2 * claim.risk)


def decide_by_counting(claim: Claim, inside: int, n: int) -> Verdict:
    """The same claim from a bare count of settings within the tolerance; no distribution assumed.

    Exact binomial limits (Clopper and Pearson). The centre must not come from the same settings: a
    datum. Costs many trials: 59 without a miss at 95 %/95 %.
    """
    share = proportion_interval(inside, n, 1 - 2 * claim.risk)
    found: dict[str, Number] = {
        "inside": inside,
        "n": n,
        "tolerance": claim.tolerance,
        "unit": claim.unit,
    }
    if share.low >= claim.content:
        return Meets(why=Reason(Why.SHARE_AT_LEAST, low=share.low, **found))
    if share.high < claim.content:
        return DoesNotMeet(why=Reason(Why.SHARE_AT_MOST, high=share.high, **found))
    ahead = claim.at_next_look
    clean = ahead and settings_for_extremes(claim.content, 1 - ahead.risk, two_sided=False)
    return CannotTellYet(
        why=Reason(Why.SHARE_AROUND, low=share.low, high=share.high, **found),
        further_trials=clean - n if clean and inside == n else None,
        power=POWER,
    )


def further_trials(
    claim: Claim,
    evidence: SampleSpread | SpreadLimits,
    *,
    power: float = POWER,
    most: int = MOST_TRIALS,
) -> int | None:
    """How many more trials would probably decide, by the rule in `decide`; None if too many.

    claim: at the look that will be taken after them (`Claim.at_next_look`).
    For limits from elsewhere σ is taken as `likely`, or half the upper limit where that is 0, and
    the trials to come as unrounded, so the number is a guide. All blocks get as many. Where the
    datum is doubtful, the verdict has to be the same wherever that lies.
    """
    sigma, df = _supposed(evidence)
    blocks = _blocks(evidence)
    biases = biases_of(claim, evidence)
    if math.isinf(sigma):
        return None

    def enough(extra: int) -> bool:
        n, more = evidence.n + extra, df + extra * blocks
        met, missed = 1.0, 1.0
        for bias in biases:
            chances = chance_of_verdict(claim, sigma=sigma, bias=bias, n=n, df=more)
            met, missed = min(met, chances[0]), min(missed, chances[1])
            if met + missed < power:
                return False
        return True

    try:
        return blocks * fewest(enough, least=1, most=max(most // blocks, 1))
    except NotEnough:
        return None


def chance_of_verdict(
    claim: Claim, *, sigma: float, n: int, df: float, bias: float = 0.0
) -> tuple[float, float]:
    """Chances of `Meets` and of `DoesNotMeet`, were `sigma` and `bias` the true ones.

    Exact about a mean. About a datum an approximation: log h is found about normally spread, as
    widely as the reach at those very figures says.
    """
    ends = partial(_end_of_sample, claim, SampleSpread(sd=sigma, df=df, n=n, bias=bias))
    if claim.centre is not Centre.DATUM:
        met = chi_square_cdf(df * (claim.tolerance / ends(high=True)) ** 2, df)
        return met, chi_square_sf(df * (claim.tolerance / ends(high=False)) ** 2, df)
    true = half_width_holding(claim.content, bias, sigma)
    if claim.tolerance >= true:
        share = math.log(claim.tolerance / true) / math.log(ends(high=True) / true)
        return normal_cdf(normal_quantile(1 - claim.risk) * (share - 1)), 0.0
    share = math.log(claim.tolerance / true) / math.log(ends(high=False) / true)
    return 0.0, normal_cdf(normal_quantile(1 - claim.risk * LOW_SHARE) * (share - 1))


def spread_meeting(claim: Claim, *, n: int, df: float, power: float = POWER) -> float:
    """The widest true spread with which `Meets` comes with that chance, the bias being 0.

    The way back from `chance_of_verdict`.
    """
    reach_of_one = _end_of_sample(claim, SampleSpread(sd=1.0, df=df, n=n, bias=0.0), high=True)
    if claim.centre is not Centre.DATUM:
        return claim.tolerance / reach_of_one / math.sqrt(chi_square_quantile(power, df) / df)
    true = half_width_holding(claim.content, 0.0, 1.0)
    share = 1 + normal_quantile(power) / normal_quantile(1 - claim.risk)
    return float(claim.tolerance / true / (reach_of_one / true) ** share)


def _end_of_sample(claim: Claim, sample: SampleSpread, *, high: bool) -> float:
    """One end of the reach."""
    p, n, df = claim.content, sample.n, sample.df
    sure = 1 - claim.risk if high else claim.risk
    match claim.centre:
        case Centre.LONG_RUN_MEAN:
            return sample.sd * two_sided_factor(p, sure, math.inf, df)
        case Centre.STUDY_MEAN:
            return sample.sd * two_sided_factor(p, sure, n, df)
        case Centre.DATUM:
            q = sure if high else claim.risk * LOW_SHARE
            bias = bias_of(claim, sample)
            return half_width_quantile(q, content=p, bias=bias, sd=sample.sd, n=n, df=df)
        case never:
            assert_never(never)


def _reach_of_limits(claim: Claim, limits: SpreadLimits) -> tuple[float, float]:
    spread_only = claim.centre is Centre.LONG_RUN_MEAN
    risk = claim.risk if spread_only else claim.risk / 2
    if limits.tail > risk * (1 + 1e-9):
        raise ValueError(
            f"this claim needs limits for the spread at {1 - 2 * risk:.4g} confidence, "
            f"not {limits.sigma.confidence:.4g}"
        )
    low, high = max(limits.sigma.low, 0.0), limits.sigma.high
    if math.isinf(high):
        return _z(claim) * low, math.inf
    if spread_only:
        return _z(claim) * low, _z(claim) * high
    if claim.centre is Centre.DATUM:
        return reach_about_datum(claim, limits, low, high, risk)
    doubt = normal_quantile(1 - risk / 2) / math.sqrt(limits.n)
    return _z(claim) * low, half_width_holding(claim.content, doubt * high, high)


def _z(claim: Claim) -> float:
    return normal_quantile((1 + claim.content) / 2)


def _blocks(evidence: SampleSpread | SpreadLimits) -> int:
    return evidence.blocks if isinstance(evidence, SpreadLimits) else 1


def _supposed(evidence: SampleSpread | SpreadLimits) -> tuple[float, float]:
    match evidence:
        case SampleSpread():
            return evidence.sd, evidence.df
        case SpreadLimits():
            df = max((evidence.n - 1) * evidence.blocks, 1)
            return evidence.likely or evidence.sigma.high / 2, df
        case never:
            assert_never(never)
