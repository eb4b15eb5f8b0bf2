"""The claim on a tolerance judged.

The claim is about settings, so the rig is taken out first. Each limit of the spread is one-sided,
and errs in at most the risk that the claim allows.

Where readings count from a datum, each block is as far off it as it is, and the spread is that
within blocks: the claim has to hold in each, and the worst one decides.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from math import fsum
from typing import assert_never

from hostctl.metrology.basis.confidence_box import ConfidenceBox
from hostctl.metrology.basis.distributions import normal_quantile
from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.claim import Centre, Claim, SpreadLimits
from hostctl.metrology.claims.decision import decide, reach
from hostctl.metrology.claims.foresight import trials_to_verdict
from hostctl.metrology.claims.looks import Looks
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets
from hostctl.metrology.claims.verdict import Verdict as Decision
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.mean import mean_of_readings
from hostctl.metrology.spread.setting import Setting, setting_lower, setting_upper
from hostctl.report.analysis.result.judgement import Verdict, VerdictWord
from hostctl.report.document.reasons import CENTRES, TARGET, Withheld, about_target
from hostctl.report.sources.material import Block, Goal
from hostctl.report.sources.sample import Sample


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What was read, and what it and the rig check say of spreads. rig: None without a check.

    setting: the rig taken out; NotYet where it can't be.
    """

    sample: Sample
    total: SpreadEvidence
    rig: SpreadEvidence | None
    setting: Setting | NotYet

    @property
    def rig_known(self) -> bool:
        """Whether a rig check says how much of what was read may be the rig's."""
        return isinstance(self.setting, Setting)

    @property
    def rig_out(self) -> SpreadEvidence | None:
        """The rig check, where it can be taken out."""
        taken = isinstance(self.setting, Setting) and self.setting.rig_out
        return self.rig if taken else None

    @property
    def likely_mm(self) -> float:
        """The likeliest spread of what is judged; 0 where no more than a bound is known."""
        if isinstance(self.setting, Setting) and self.setting.rig_out:
            return self.setting.value or 0.0
        return self.total.figure


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """What a claim is judged by. worst: the block that decides, where there is a choice."""

    limits: SpreadLimits
    rig_out: bool
    worst: str


def verdict_of(
    evidence: Evidence, goal: Goal, looks: Looks, off: Estimate | NotYet, *, itself_judged: bool
) -> Verdict:
    """The verdict on a sample. itself_judged: nobody set anything, so no rig is to be taken out."""
    claim = claim_of(goal, looks, off)
    known = _known(claim, evidence)
    decision = decide(
        claim, known.limits, foreseen=_foreseen(claim, evidence, itself_judged=itself_judged)
    )
    if isinstance(decision, DoesNotMeet) and not (evidence.rig_known or itself_judged):
        why = Reason(Withheld.RIG_NOT_KNOWN, found=decision.why)
        decision = CannotTellYet(why=why, further_trials=None, power=0.0)
    verdict = _told(claim, known, decision)
    if evidence.sample.blocks[0].footing is None or claim.centre is not Centre.DATUM:
        return verdict
    return replace(verdict, why=about_target(verdict.why), centre=TARGET)


def claim_of(goal: Goal, looks: Looks, off: Estimate | NotYet) -> Claim:
    """What is claimed: about the datum where settings are known from one."""
    return Claim(
        tolerance=goal.within_mm,
        content=goal.proportion,
        confidence=goal.confidence,
        centre=Centre.DATUM if isinstance(off, Estimate) else Centre.LONG_RUN_MEAN,
        looks=looks,
    )


def _known(claim: Claim, evidence: Evidence) -> _Known:
    spread_only = claim.centre is Centre.LONG_RUN_MEAN
    risk = claim.risk if spread_only else claim.risk / 2
    rig, likely = evidence.rig_out, evidence.likely_mm
    high = setting_upper(evidence.total, rig, risk)
    left_in = rig is None and evidence.rig_known
    low = 0.0 if left_in else min(setting_lower(evidence.total, rig, risk), high)
    sigma = Interval(low=low, high=high, confidence=1 - 2 * risk)
    if not spread_only:
        worst, limits = _worst(claim, sigma, likely, evidence)
        return _Known(limits=limits, rig_out=rig is not None, worst=worst)
    limits = SpreadLimits(sigma=sigma, likely=likely, n=evidence.total.freedom.settings)
    return _Known(limits=limits, rig_out=rig is not None, worst="")


def _foreseen(
    claim: Claim, evidence: Evidence, *, itself_judged: bool
) -> Callable[[], int | NotYet] | None:
    """How many more trials would decide, from the readings themselves; None about a datum."""
    ahead = claim.at_next_look
    if ahead is None or claim.centre is not Centre.LONG_RUN_MEAN:
        return None
    rig = evidence.rig_out
    return partial(
        trials_to_verdict,
        evidence.total,
        rig,
        limit=claim.tolerance / normal_quantile((1 + claim.content) / 2),
        risk=ahead.risk,
        meets_only=rig is None and not itself_judged,
    )


def _told(claim: Claim, known: _Known, decision: Decision) -> Verdict:
    band, limits = reach(claim, known.limits), known.limits
    open_yet = decision if isinstance(decision, CannotTellYet) else None
    from_datum = claim.centre is Centre.DATUM
    return Verdict(
        verdict=word_of(decision),
        why=decision.why,
        further_trials=open_yet.further_trials if open_yet else None,
        power=open_yet.power if open_yet else None,
        why_no_trials=open_yet.why_no_trials if open_yet else None,
        centre=CENTRES[claim.centre],
        worst_block=known.worst or None,
        decided_by="normal law",
        half_width=band,
        sigma=limits.sigma,
        risk=limits.tail,
        rig_out=known.rig_out,
        beyond_with_rig=open_yet is not None and not known.rig_out and claim.tolerance < band.low,
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
    claim: Claim, sigma: Interval, likely: float, evidence: Evidence
) -> tuple[str, SpreadLimits]:
    """The block in which settings may reach farthest from the datum, and what is known of it."""
    blocks, resolution_mm = evidence.sample.blocks, evidence.sample.resolution_mm
    risk = claim.risk / 2
    means = [fsum(block.values_mm) / len(block.values_mm) for block in blocks]
    farthest: dict[int, int] = {}  # of the blocks of each size
    for number in sorted(range(len(blocks)), key=lambda number: abs(means[number])):
        farthest[len(blocks[number].values_mm)] = number
    known = {
        number: SpreadLimits(
            sigma=sigma,
            likely=likely,
            n=size,
            bias=means[number],
            blocks=len(blocks),
            resolution=resolution_mm,
            as_read=evidence.total.upper(risk) if evidence.rig_out else None,
            off=_off(blocks[0], resolution_mm, risk) if len(blocks) == 1 else None,
            datum_error=_datum_error(blocks[number]),
        )
        for size, number in farthest.items()
    }
    worst = max(known, key=lambda number: reach(claim, known[number]).high)
    name = f"{blocks[worst].point or 'block'} ({worst + 1} of {len(blocks)})"
    return (name if len(blocks) > 1 else ""), known[worst]


def _off(block: Block, resolution_mm: float, risk: float) -> Interval:
    """How far a block's mean may be from the datum, either limit at this risk."""
    if block.footing is not None:
        from hostctl.report.trueness.found import gap_of

        return gap_of([block], resolution_mm=resolution_mm, least_sigma_mm=0.0).reach(risk)
    mean = mean_of_readings(block.values_mm, resolution=resolution_mm)
    low, high = mean.lower(risk), mean.upper(risk)
    return Interval(low=max(low, -high, 0.0), high=max(high, -low), confidence=1.0 - 2.0 * risk)


def _datum_error(block: Block) -> ConfidenceBox | None:
    """Where the datum may lie wrong: of a target, the error of the tie that makes it known."""
    return None if block.footing is None else block.footing.constant.error
