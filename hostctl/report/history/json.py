"""A rig over time for other programs. Figures that can't be had are null, with a reason."""

from collections.abc import Sequence
from typing import Any

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.document.reasons import reason_words
from hostctl.report.history.checks import Check
from hostctl.report.history.history import Series, cautions
from hostctl.report.history.text import answer


def history_json(
    what: str, series: Sequence[Series], checks: Sequence[Check], left_out: Sequence[str]
) -> dict[str, Any]:
    """Plain data, lengths in mm; points are counted from 0."""
    return {
        "answer": answer(what, series),
        "checks": [
            {
                "name": check.name,
                "at": check.at.isoformat(),
                "n": check.n,
                "sd_mm": check.sd_mm,
                "df": check.df,
                "mean_mm": check.mean_mm,
                "resolution_mm": check.resolution_mm,
            }
            for check in checks
        ],
        "left_out": list(left_out),
        "series": [_series(one) for one in series],
        "cautions": list(cautions(series, checks)),
    }


def _series(series: Series) -> dict[str, Any]:
    return {
        "what": series.what,
        "points": [
            {"name": point.name, "when": point.when, "value": point.value}
            for point in series.points
        ],
        **_individuals(series),
        "weighted_averages": None if series.ewma is None else list(series.ewma.averages),
        "spread_limits": None if series.spread is None else list(series.spread.upper),
        "pooled_sd": None if series.spread is None else series.spread.pooled_sd,
        "signs": [
            {"first": sign.first, "last": sign.last, "words": sign.words} for sign in series.signs
        ],
    }


def _individuals(series: Series) -> dict[str, Any]:
    chart = series.individuals
    if isinstance(chart, NotYet):
        return {
            "limits": None,
            "why_no_limits": reason_words(chart.reason),
            "needs_checks": chart.needs_n,
        }
    return {
        "limits": {
            "centre": chart.centre,
            "sigma": chart.sigma,
            "lower": chart.lower,
            "upper": chart.upper,
            "moving_range_upper": chart.moving_range_upper,
        }
    }
