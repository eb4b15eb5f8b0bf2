"""A budget file, and the rig checks it refers to, as what the maths takes."""

import math
from collections.abc import Mapping
from typing import assert_never

from hostctl.config.budgets import contributions as given
from hostctl.config.budgets.budget import BudgetFile
from hostctl.metrology.uncertainty import contributions as taken
from hostctl.metrology.uncertainty.budget import Budget, Correlation
from hostctl.metrology.uncertainty.laws import (
    Arcsine,
    InexactUniform,
    Law,
    Normal,
    ScaledT,
    Triangular,
    Uniform,
)
from hostctl.report.budget.model import model_of
from hostctl.report.budget.result import RigSpread


def budget_of(file: BudgetFile, rigs: Mapping[int, RigSpread]) -> Budget:
    """The budget. `rigs`: by run, each rig check the file refers to.

    Raises ValueError, in words, where correlations contradict each other.
    """
    names = [part.name for part in file.parts]
    return Budget(
        measurand=file.measurand,
        unit=file.unit,
        confidence=file.confidence,
        contributions=tuple(_contribution(part, rigs) for part in file.parts),
        model=None if file.formula is None else model_of(file.formula, names),
        sensitivities={
            part.name: part.sensitivity
            for part in file.parts
            if isinstance(part, given.Other) and part.sensitivity is not None
        },
        correlations=tuple(
            Correlation(first=pair.between[0], second=pair.between[1], r=pair.r)
            for pair in file.correlations
        ),
    )


def _contribution(part: given.Part, rigs: Mapping[int, RigSpread]) -> taken.Contribution:
    match part:
        case given.Resolution():
            return taken.Resolution(
                step_mm=part.step_mm, difference=part.difference, name=part.name
            )
        case given.IndicatorError():
            return taken.IndicatorError(limit_mm=part.limit_mm, name=part.name)
        case given.TiltedStem():
            return taken.TiltedStem(
                travel_mm=part.travel_mm, tilt_deg=part.tilt_deg, name=part.name
            )
        case given.RigRepeatability():
            return _rig(part, rigs)
        case given.ThermalGrowth():
            return taken.ThermalGrowth(**part.model_dump())
        case given.ContactForce():
            return taken.ContactForce(**part.model_dump())
        case given.Other():
            law, df = _law(part), _df(part)
            return taken.Input(name=part.name, value=part.value, law=law, df=df)
        case never:
            assert_never(never)


def _rig(part: given.RigRepeatability, rigs: Mapping[int, RigSpread]) -> taken.RigRepeatability:
    if part.from_run is not None:
        sd_mm, df = rigs[part.from_run].sd_mm, rigs[part.from_run].df
    else:
        sd_mm, df = part.sd_mm or 0.0, part.df or math.inf
    return taken.RigRepeatability(
        sd_mm=sd_mm, df=df, readings=part.readings, difference=part.difference, name=part.name
    )


def _df(part: given.Other) -> float:
    if part.relative_doubt is not None:
        return taken.doubt_df(part.relative_doubt)
    return math.inf if part.df is None else part.df


def _law(part: given.Other) -> Law:
    """A normal law on few degrees of freedom is drawn as Student's t (JCGM 101 6.4.9)."""
    if part.normal is not None:
        df = _df(part)
        return Normal(sd=part.normal) if math.isinf(df) else ScaledT(scale=part.normal, df=df)
    if part.uniform is not None:
        return Uniform(half_width=part.uniform)
    if part.triangular is not None:
        return Triangular(half_width=part.triangular)
    if part.arcsine is not None:
        return Arcsine(half_width=part.arcsine)
    assert part.inexact_uniform is not None  # the file has exactly one law
    return InexactUniform(**part.inexact_uniform.model_dump())
