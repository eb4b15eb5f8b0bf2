"""The claim on a tolerance judged.

The claim is about settings, so the rig is taken out first. An end of the interval is used for the
claim only where it errs in at most the risk the claim allows: the upper end of a two-sided interval
at 1 - risk (a profile-likelihood interval has nearly all its chance to miss there), the lower end
of one at 1 - 2 risk. Both ends then err more seldom than allowed, never more often.

Where readings count from a datum, each block is as far off it as it is, and the spread is that
within blocks: the claim has to hold in each, and the worst one decides.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import fsum
from typing import assert_never

from hostctl.metrology.basis.distributions import normal_quantile
from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.root_finding import fewest
from hostctl.metrology.claims.claim import Centre, Claim, SpreadLimits
from hostctl.metrology.claims.decision import decide, reach
from hostctl.metrology.claims.tolerance import ratio_quantile
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets
from hostctl.metrology.claims.verdict import Verdict as Decision
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.result.judgement import Verdict, VerdictWord
from hostctl.report.document.reasons import CENTRES, Withheld
from hostctl.report.sources.material import Block, Goal
from hostctl.report.sources.sample import CONFIDENCE, Sample

BothAt = Callable[[float], tuple[RoundedSpread, Setting | NotYet]]
"""Setting and rig together, and the setting alone, at the confidence asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Evidence:
    """What a claim is judged by. worst: the block that decides, where there is a choice."""

    limits: SpreadLimits
    rig_out: bool
    worst: str


def verdict_of(
    sample: Sample,
    goal: Goal,
    looks: int,
    spread: RoundedSpread | NotYet,
    off: Estimate | NotYet,
    both_at: BothAt,
    *,
    itself_judged: bool,
) -> Verdict | NotYet:
    """The verdict on a sample. itself_judged: nobody set anything, so no rig is to be taken out."""
    if isinstance(spread, NotYet):
        return spread
    claim = claim_of(goal, looks, off)
    evidence = _evidence(claim, spread, both_at, sample.blocks)
    decision = decide(claim, evidence.limits)
    if isinstance(decision, DoesNotMeet) and not (evidence.rig_out or itself_judged):
        why = Reason(Withheld.RIG_NOT_KNOWN, found=decision.why)
        decision = CannotTellYet(why=why, further_trials=None, power=0.0)
    return _told(claim, evidence, decision)


def claim_of(goal: Goal, looks: int, off: Estimate | NotYet) -> Claim:
    """What is claimed: about the datum where settings are known from one."""
    return Claim(
        tolerance=goal.within_mm,
        content=goal.proportion,
        confidence=goal.confidence,
        centre=Centre.DATUM if isinstance(off, Estimate) else Centre.LONG_RUN_MEAN,
        looks=looks,
    )


def _evidence(
    claim: Claim, spread: RoundedSpread, both_at: BothAt, blocks: Sequence[Block]
) -> _Evidence:
    spread_only = claim.centre is Centre.LONG_RUN_MEAN
    risk = claim.risk if spread_only else claim.risk / 2
    upper, rig_out = _interval(both_at, 1 - risk)
    lower, _ = _interval(both_at, 1 - 2 * risk)
    likely = _likely(spread, both_at(CONFIDENCE)[1] if rig_out else None)
    sigma = Interval(low=min(lower.low, upper.high), high=upper.high, confidence=1 - 2 * risk)
    if not spread_only:
        worst, limits = _worst(claim, sigma, likely, blocks)
        return _Evidence(limits=limits, rig_out=rig_out, worst=worst)
    n = _worth(spread.n, likely, upper.high, risk)
    return _Evidence(
        limits=SpreadLimits(sigma=sigma, likely=likely, n=n), rig_out=rig_out, worst=""
    )


def _told(claim: Claim, evidence: _Evidence, decision: Decision) -> Verdict:
    band, limits = reach(claim, evidence.limits), evidence.limits
    open_yet = decision if isinstance(decision, CannotTellYet) else None
    from_datum = claim.centre is Centre.DATUM
    return Verdict(
        verdict=word_of(decision),
        why=decision.why,
        further_trials=open_yet.further_trials if open_yet else None,
        power=open_yet.power if open_yet else None,
        centre=CENTRES[claim.centre],
        worst_block=evidence.worst or None,
        decided_by="normal law",
        half_width=band,
        sigma=limits.sigma,
        risk=limits.tail,
        rig_out=evidence.rig_out,
        beyond_with_rig=open_yet is not None
        and not evidence.rig_out
        and claim.tolerance < band.low,
        n=limits.n,
        mean_mm=limits.bias,
        normal_quantile=None if from_datum else normal_quantile((1 + claim.content) / 2),
    )


def word_of(decision: Decision) -> VerdictWord:
    """The verdict as it is said."""
    match decision:
        case Meets():
            return "meets"
        case DoesNotMeet():
            return "does not meet"
        case CannotTellYet():
            return "cannot tell yet"
        case never:
            assert_never(never)


def _worst(
    claim: Claim, sigma: Interval, likely: float, blocks: Sequence[Block]
) -> tuple[str, SpreadLimits]:
    """The block in which settings may reach farthest from the datum, and what is known of it."""
    means = [fsum(block.values_mm) / len(block.values_mm) for block in blocks]
    farthest: dict[int, int] = {}  # of the blocks of each size
    for number in sorted(range(len(blocks)), key=lambda number: abs(means[number])):
        farthest[len(blocks[number].values_mm)] = number
    known = {
        number: SpreadLimits(
            sigma=sigma, likely=likely, n=size, bias=means[number], blocks=len(blocks)
        )
        for size, number in farthest.items()
    }
    worst = max(known, key=lambda number: reach(claim, known[number]).high)
    name = f"{blocks[worst].point or 'block'} ({worst + 1} of {len(blocks)})"
    return (name if len(blocks) > 1 else ""), known[worst]


def _interval(both_at: BothAt, confidence: float) -> tuple[Interval, bool]:
    """The setting's, or where the rig can't be taken out, that of both together."""
    total, setting = both_at(confidence)
    if isinstance(setting, NotYet):
        return total.interval, False
    return setting.interval, True


def _worth(n: int, likely: float, high: float, risk: float) -> int:
    """How many unrounded settings without a rig would give as high a limit; at most n.

    Where only the spread counts, n serves to foresee how many trials are wanted, and rounding and
    rig make each one worth less.
    """
    if likely <= 0.0:
        return n
    return fewest(lambda m: m >= n or likely / ratio_quantile(risk, m - 1) <= high, least=2)


def _likely(spread: RoundedSpread, setting: Setting | NotYet | None) -> float:
    if isinstance(setting, Setting):
        return setting.value or 0.0
    return spread.quoted.value if isinstance(spread.quoted, Estimate) else 0.0
