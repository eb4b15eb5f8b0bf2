"""What becomes of a verdict where readings do not look normal: only a count may say it.

Both "meets" and "does not meet" by the normal law are taken back, as an outlier or a second heap
makes either wrong. What a count says stands in their place; where it can't tell, that and why.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import inf
from typing import assert_never

from hostctl.metrology.basis.confidence_box import ConfidenceBox
from hostctl.metrology.basis.estimate import Interval, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.by_counting import decide_without_law
from hostctl.metrology.claims.claim import Claim
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets
from hostctl.metrology.claims.verdict import Verdict as Decision
from hostctl.metrology.oddities.normal_law import NormalLaw
from hostctl.report.analysis.claim import Evidence, word_of
from hostctl.report.analysis.result.judgement import Verdict
from hostctl.report.document.reasons import Withheld, about_target
from hostctl.report.sources.material import Block


def unless_doubted(
    verdict: Verdict,
    law: NormalLaw | NotYet,
    claim: Claim,
    evidence: Evidence,
    *,
    itself_judged: bool,
) -> Verdict:
    """The verdict as it is, or by a count where the normal law is doubted.

    itself_judged: nobody set anything, so there is no rig to allow for.
    """
    if isinstance(law, NotYet) or not law.doubted:
        return verdict
    departures = ", ".join(law.departures)
    sample = evidence.sample
    if sample.reference == "previous":
        why = Reason(Withheld.LAW_DOUBTED_DIFFERENCES, departures=departures)
        return _told(verdict, CannotTellYet(why=why, further_trials=None, power=0.0), why, claim)
    decision = decide_without_law(
        claim,
        sample.settings,
        resolution=sample.resolution_mm,
        rig_sd=0.0 if itself_judged else _rig_sd(evidence, claim.risk / 2),
        datum_error=_datum_error(sample.blocks, claim.risk / 2),
    )
    later = "least" in decision.why.numbers and claim.at_next_look is not None
    why = Reason(Withheld.LAW_DOUBTED, departures=departures, found=decision.why, later=later)
    if sample.blocks[0].footing is not None:
        why = about_target(why)
    return _told(verdict, decision, why, claim)


def _datum_error(blocks: Sequence[Block], risk: float) -> ConfidenceBox | None:
    """Of the block whose tie is known worst; None where nothing ties readings to the nozzle."""
    errors = [block.footing.constant.error for block in blocks if block.footing is not None]
    return max(errors, key=lambda error: error.farthest(risk), default=None)


def _rig_sd(evidence: Evidence, risk: float) -> float | None:
    return evidence.rig.upper(risk) if evidence.rig and evidence.rig_known else None


def _told(verdict: Verdict, decision: Decision, why: Reason, claim: Claim) -> Verdict:
    return replace(
        verdict,
        verdict=word_of(decision),
        why=why,
        further_trials=None,
        power=None,
        why_no_trials=None,
        decided_by="count",
        half_width=_half_width(decision, claim),
        beyond_with_rig=False,
    )


def _half_width(decision: Decision, claim: Claim) -> Interval:
    """A count tells the tolerance from what is needed, and nothing finer."""
    low, high = 0.0, inf
    match decision:
        case Meets():
            high = claim.tolerance
        case DoesNotMeet():
            low = claim.tolerance
        case CannotTellYet():
            pass
        case never:
            assert_never(never)
    return Interval(low=low, high=high, confidence=1 - 2 * claim.risk)
