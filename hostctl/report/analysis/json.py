"""An analysis as plain data for strict JSON: no NaN, no infinity; what can't be had says why."""

from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from enum import Enum
from math import isfinite
from typing import Any

from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.sample import repeatability_limit
from hostctl.report.analysis.analysis import Analysis
from hostctl.report.analysis.judgement import Judged, Result, verdict_word
from hostctl.report.document.reasons import CENTRES, reason_words

UNIT = "mm"


def analysis_data(analysis: Analysis) -> dict[str, Any]:
    """Everything that was found. Lengths in mm; an open end of an interval is null."""
    material, found = analysis.material, analysis.compared
    return {
        "source": {
            "name": material.name,
            "title": material.title,
            "machine": material.machine or None,
            "reference": material.reference,
            "zero_known": material.zero_known,
            "resolution_mm": material.resolution_mm,
            "resolution_from": material.resolution_from,
            "readings": material.readings,
            "notes": list(material.notes),
        },
        "unit": UNIT,
        "goal": plain(analysis.goal),
        "looks": analysis.looks,
        "rig": None
        if analysis.rig is None
        else {
            "name": analysis.rig.name,
            "notes": list(analysis.rig.notes),
            "spread": plain(analysis.rig.spread),
        },
        "results": [_result(result) for result in analysis.results],
        "compared": None
        if found is None
        else {
            "margin": found.margin,
            "pairs": [{**plain(pair), "standing": pair.standing} for pair in found.pairs],
            "hands": plain(found.hands),
            "test": plain(found.test),
        },
        "biases": [{**plain(bias), "standing": bias.standing} for bias in analysis.biases],
        "oddities": [
            {
                "method": odd.result.method,
                "operator": odd.result.operator,
                "alpha": odd.alpha,
                "outliers": plain(odd.outliers),
                "spread_without_outliers": plain(odd.without),
                "drift": plain(odd.drift),
                "drifts": odd.drifts,
                "neighbours": plain(odd.neighbours),
                "neighbours_alike": odd.neighbours_alike,
                "warm_ups": plain(odd.warm_ups),
            }
            for odd in analysis.oddities
        ],
        "crossed": [
            {**plain(crossed), "figures": _figures(crossed.study)} for crossed in analysis.crossed
        ],
    }


def plain(value: object) -> Any:
    """Records as objects; a NotYet as {"not_yet": reason, "needs_n": n}; no number as null."""
    match value:
        case None | bool() | int() | str():
            return value.value if isinstance(value, Enum) else value
        case float():
            return value if isfinite(value) else None
        case NotYet():
            return {"not_yet": reason_words(value.reason), "needs_n": value.needs_n}
        case Reason():
            return reason_words(value)
        case Enum():
            return value.value
        case Interval():
            return {
                "low": plain(value.low),
                "high": plain(value.high),
                "confidence": value.confidence,
            }
        case Mapping():
            return {str(key): plain(item) for key, item in value.items()}
        case _ if is_dataclass(value) and not isinstance(value, type):
            return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
        case Sequence():
            return [plain(item) for item in value]
        case _:
            return plain(value.item()) if hasattr(value, "item") else str(value)


def _result(result: Result) -> dict[str, Any]:
    return {
        "method": result.method,
        "operator": result.operator,
        "points": list(dict.fromkeys(block.point for block in result.blocks)),
        "blocks": len(result.blocks),
        "readings": result.readings,
        "off": plain(result.off),
        "spread": plain(result.spread),
        "repeatability_limit": plain(_repeatability_limit(result.spread)),
        "setting": plain(result.setting),
        "verdict": _verdict(result.judged),
    }


def _repeatability_limit(spread: RoundedSpread | NotYet) -> Estimate | NotYet:
    quoted = spread.quoted if isinstance(spread, RoundedSpread) else spread
    return repeatability_limit(quoted) if isinstance(quoted, Estimate) else quoted


def _verdict(judged: Judged | NotYet | None) -> Any:
    if not isinstance(judged, Judged):
        return plain(judged)
    said: Meets | DoesNotMeet | CannotTellYet = judged.verdict
    return {
        "verdict": verdict_word(judged),
        **plain(said),
        "centre": CENTRES[judged.claim.centre],
        "worst_block": judged.worst or None,
        "half_width": plain(judged.reach),
        "sigma": plain(judged.evidence.sigma),
        "rig_out": judged.rig_out,
    }


def _figures(study: Any) -> Any:
    if isinstance(study, NotYet):
        return plain(study)
    figures = study.figures
    shares = {
        name: plain(figures.percent_of_total(getattr(figures, name)))
        for name in ("ev", "av", "interaction", "pv", "grr")
    }
    return {
        **plain(figures),
        "grr": figures.grr,
        "tv": figures.tv,
        "percent_of_total": shares,
        "ndc": plain(figures.ndc),
    }
