"""The average-and-range method of a crossed gauge study, as the measurement-systems manual has it.

Simple enough to check by hand; the analysis of variance in `crossed` uses the data better and sees
the interaction. Source: AIAG, Measurement Systems Analysis, 4th ed. (2010), chapter III, section B.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.components.gauge_figures import GaugeFigures
from hostctl.metrology.components.range_constants import d2_star


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeFactors:
    """Factors from mean ranges to standard deviations: K1 trials, K2 operators, K3 parts."""

    k1: float
    k2: float
    k3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranges:
    """What is read off the data sheet.

    `range_mean`: mean range of the cells. `operator_difference`: largest less smallest operator
    average. `part_range`: largest less smallest part average.
    """

    range_mean: float
    operator_difference: float
    part_range: float
    parts: int
    operators: int
    trials: int


def range_factors(parts: int, operators: int, trials: int) -> RangeFactors:
    """1 / d2* for the study's size, unrounded (the manual's table has four decimals)."""
    return RangeFactors(
        k1=1.0 / d2_star(trials, parts * operators),
        k2=1.0 / d2_star(operators, 1),
        k3=1.0 / d2_star(parts, 1),
    )


def study_ranges(table: npt.ArrayLike) -> Ranges:
    """Ranges and averages of a full table: parts x operators x trials, two or more of each.

    Raises NotEnough for another shape or a cell that is missing or not a number: use `crossed`,
    which copes with skipped trials.
    """
    cells: Array = np.asarray(table, dtype=np.float64)
    if cells.ndim != 3 or min(cells.shape) < 2:
        raise NotEnough("average and range: needs parts x operators x trials, 2 or more of each")
    if not np.isfinite(cells).all():
        raise NotEnough("average and range: a reading is missing or not a number")
    parts, operators, trials = cells.shape
    return Ranges(
        range_mean=float(np.ptp(cells, axis=2).mean()),
        operator_difference=float(np.ptp(cells.mean(axis=(0, 2)))),
        part_range=float(np.ptp(cells.mean(axis=(1, 2)))),
        parts=parts,
        operators=operators,
        trials=trials,
    )


def average_and_range(ranges: Ranges, factors: RangeFactors | None = None) -> GaugeFigures:
    """EV, AV and PV from the ranges; AV floored at zero. No interaction can be seen this way.

    factors: other factors than the unrounded ones, such as the manual's rounded table.
    """
    k = factors or range_factors(ranges.parts, ranges.operators, ranges.trials)
    ev = ranges.range_mean * k.k1
    readings = ranges.parts * ranges.trials
    av_squared = (ranges.operator_difference * k.k2) ** 2 - ev**2 / readings
    return GaugeFigures(
        ev=ev,
        av=math.sqrt(max(0.0, av_squared)),
        interaction=0.0,
        pv=ranges.part_range * k.k3,
    )
