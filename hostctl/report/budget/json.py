"""A budget's result for other programs. Where a figure has no bound (∞) the key holds null."""

import math
from typing import Any

from hostctl.metrology.basis.estimate import Interval
from hostctl.report.budget.budget import WorkedOut, cautions
from hostctl.report.budget.text import answer


def budget_json(worked: WorkedOut) -> dict[str, Any]:
    """Plain data: numbers in the budget's unit."""
    combined, simulated = worked.combined, worked.simulated
    return {
        "answer": answer(worked),
        "measurand": worked.file.measurand,
        "unit": worked.file.unit,
        "confidence": combined.confidence,
        "contributions": [
            {
                "name": line.name,
                "value": line.value,
                "u": line.u,
                "df": _finite(line.df),
                "sensitivity": line.sensitivity,
                "contribution": line.contribution,
                "share": line.share,
            }
            for line in combined.lines
        ],
        "propagation": {
            "value": combined.value,
            "u": combined.u,
            "df": _finite(combined.df),
            "df_used": _finite(combined.df_used),
            "coverage_factor": combined.coverage_factor,
            "expanded": combined.expanded,
            "interval": _ends(combined.interval),
            "source": combined.source,
        },
        "simulation": {
            "value": simulated.value,
            "u": simulated.u,
            "interval": _ends(simulated.symmetric),
            "shortest": _ends(simulated.shortest),
            "trials": simulated.trials,
            "seed": worked.seed,
            "settled": simulated.settled,
            "source": simulated.source,
        },
        "difference": worked.difference,
        "allowed_difference": worked.agreement.tolerance,
        "agrees": worked.agrees,
        "cautions": list(cautions(worked)),
    }


def _finite(value: float) -> float | None:
    return None if math.isinf(value) else value


def _ends(interval: Interval) -> list[float]:
    return [interval.low, interval.high]
