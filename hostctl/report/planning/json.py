"""Plans for other programs. Where no number of trials would do, `trials` is null, with a reason."""

from collections.abc import Sequence
from typing import Any

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.claims.planning import PowerPoint
from hostctl.report.document.reasons import CENTRES, reason_words
from hostctl.report.planning.planning import ClaimPlan, KnowPlan, RatioPlan, overview_plans
from hostctl.report.planning.run import SpreadFound


def know_json(plan: KnowPlan) -> dict[str, Any]:
    """Plain data."""
    return {
        "within": plan.within,
        "confidence": plan.confidence,
        "trials": plan.n,
        "table": [
            {"trials": p.n, "chance": p.chance, "sigma_low": found.low, "sigma_high": found.high}
            for found, p in plan.rows
        ],
        "curve": _curve(plan.curve),
    }


def ratio_json(plan: RatioPlan) -> dict[str, Any]:
    """Plain data; trials are of each method."""
    return {
        "ratio": plan.ratio,
        "power": plan.power,
        "risk": plan.risk,
        "trials": plan.n,
        "table": [
            {"trials": p.n, "chance": p.chance, "smallest_ratio": smallest}
            for p, smallest in plan.rows
        ],
        "curve": _curve(plan.curve),
    }


def claim_json(plan: ClaimPlan) -> dict[str, Any]:
    """Plain data, lengths in mm."""
    claim = plan.claim
    return {
        "within_mm": claim.tolerance,
        "proportion": claim.content,
        "confidence": claim.confidence,
        "centre": CENTRES[claim.centre],
        "sd_mm": plan.sigma,
        "bias_mm": plan.bias,
        "power": plan.power,
        **_trials("trials", plan.n),
        "table": _curve(plan.rows),
        "curve": _curve(plan.curve),
    }


def run_json(run: int, found: Sequence[SpreadFound]) -> dict[str, Any]:
    """Plain data, lengths in mm."""
    return {
        "run": run,
        "spreads": [
            {
                "method": each.method,
                "operator": each.operator,
                "n": each.n,
                "sd_mm": each.sd_mm,
                "upper_mm": each.upper_mm,
                "bias_mm": each.bias_mm,
                **_trials("trials", each.trials),
                **_trials("trials_at_upper", each.trials_at_upper),
            }
            for each in found
        ],
    }


def overview_json(power: float, confidence: float) -> dict[str, Any]:
    """Plain data: the three small tables; spreads as a part of the tolerance."""
    know, see, prove = overview_plans(power, confidence)
    return {
        "know": [{"within": plan.within, "trials": plan.n} for plan in know],
        "see": [{"ratio": plan.ratio, "trials": plan.n} for plan in see],
        "prove": [{"sd_in_tolerances": plan.sigma, **_trials("trials", plan.n)} for plan in prove],
    }


def _trials(key: str, trials: int | NotYet | None) -> dict[str, Any]:
    if isinstance(trials, NotYet):
        return {key: None, f"why_no_{key}": reason_words(trials.reason)}
    return {key: trials}


def _curve(points: Sequence[PowerPoint]) -> list[dict[str, Any]]:
    return [{"trials": point.n, "chance": point.chance} for point in points]
