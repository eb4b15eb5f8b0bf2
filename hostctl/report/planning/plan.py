"""The plan that answers what somebody wishes to know."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from hostctl.errors import UsageError
from hostctl.metrology.claims.assumed import AssumedStudy, RigAssumed
from hostctl.metrology.claims.claim import Claim
from hostctl.report.planning.planning import (
    claim_about,
    guessed_spreads,
    overview,
    plan_to_know,
    plan_to_prove,
    plan_to_see,
)
from hostctl.report.planning.result import Guesses, Plan, Prove
from hostctl.report.planning.wishes import CONFIDENCE, Wishes
from hostctl.report.sources.material import goal_for

if TYPE_CHECKING:
    from hostctl.report.planning.run import PastRun


class Unanswerable(ValueError):
    """No sensible number of trials answers one of the wishes; its cause says why."""

    def __init__(self, wish: str) -> None:
        super().__init__(wish)
        self.wish = wish


def plan(wishes: Wishes, past: "PastRun | None" = None) -> Plan:
    """The answers, or an overview where nothing was asked.

    past: a run to take spreads, tolerance and time from. Raises Unanswerable; DataError where the
    run has no spread yet; UsageError where its study names no tolerance and neither do the wishes.
    """
    confidence = wishes.confidence or CONFIDENCE
    seconds = past.trial_seconds if past and wishes.trial_seconds is None else wishes.trial_seconds
    know = see = by_run = None
    if wishes.know_within is not None:
        with _asking("know_within"):
            know = plan_to_know(wishes.know_within, confidence)
    if wishes.see_ratio is not None:
        with _asking("see_ratio"):
            study = _study(wishes)
            see = plan_to_see(
                wishes.see_ratio, wishes.power, 1 - confidence, study, wishes.expected_sd_mm
            )
    prove = _proof(wishes, past)
    if past is not None and prove is None:
        from hostctl.report.planning.run import plan_by_run

        claim = _claim(wishes, past)
        by_run = plan_by_run(past, claim, power=wishes.power, trial_seconds=seconds)
    asked = any(part is not None for part in (know, see, prove, by_run))
    return Plan(
        trial_seconds=seconds,
        know=know,
        see=see,
        prove=prove,
        by_run=by_run,
        overview=None if asked else overview(wishes.power, confidence),
    )


def takes_seconds(wishes: Wishes) -> bool:
    """Whether spreads are compared in simulated studies, which is more work than any formula."""
    sd = wishes.expected_sd_mm
    return wishes.see_ratio is not None and sd is not None and not _study(wishes).is_fine(sd)


def _proof(wishes: Wishes, past: "PastRun | None") -> Prove | Guesses | None:
    """For the spread expected, else for guesses; None where a run says what to expect."""
    if wishes.within_mm is None:
        return None
    if wishes.expected_sd_mm is not None:
        bias_mm = wishes.bias_mm or 0.0
        claim, study = _claim(wishes, past), _study(wishes)
        return plan_to_prove(claim, wishes.expected_sd_mm, bias_mm, wishes.power, study)
    if past is not None:
        return None
    return guessed_spreads(_claim(wishes, past), wishes.power, _study(wishes))


def _study(wishes: Wishes) -> AssumedStudy:
    """The study as it is wished."""
    rig = wishes.rig_sd_mm
    return AssumedStudy(
        resolution=wishes.resolution_mm,
        blocks=wishes.blocks,
        pairs=wishes.pairs,
        rig=None if rig is None else RigAssumed(trials=wishes.rig_trials, sd=rig),
    )


def _claim(wishes: Wishes, past: "PastRun | None") -> Claim:
    """The claim that was named, or the tolerance of the run's study."""
    goal = goal_for(
        past.goal if past is not None else None,
        within_mm=wishes.within_mm,
        proportion=wishes.proportion,
        confidence=wishes.confidence,
    )
    if goal is None:
        where = f"run {past.run}" if past is not None else "a plan"
        raise UsageError(where, "its study names no tolerance", "Give one: --claim 0.05")
    return claim_about(
        goal.within_mm,
        proportion=goal.proportion,
        confidence=goal.confidence,
        datum=wishes.bias_mm is not None or (past is not None and past.zero_known),
    )


@contextmanager
def _asking(wish: str) -> Iterator[None]:
    try:
        yield
    except ValueError as why:
        raise Unanswerable(wish) from why
