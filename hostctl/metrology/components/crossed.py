"""A crossed study, parts (or points) x operators x trials: variance components and gauge figures.

A full table is analysed by variance with interaction, all effects random. Pooling rule: where the
interaction's p value is above `pool_above` (0.25 unless told otherwise, a convention of gauge
studies) or nothing repeats within a cell, the interaction is pooled with repeatability. Tables with
skipped trials or missing cells go to restricted maximum likelihood (`reml`), where nothing is
pooled: a component simply stops at zero.
Source: AIAG, Measurement Systems Analysis, 4th ed. (2010), III B and appendix A; intervals:
Burdick, Borror, Montgomery 2005, Design and Analysis of Gauge R&R Studies, 3.
"""

import math
from dataclasses import dataclass

import numpy as np

from hostctl.metrology.basis.centred import Array
from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet
from hostctl.metrology.basis.mean_squares import MeanSquare, component_interval, sum_interval
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.components.anova import AnovaLine, f_test
from hostctl.metrology.components.crossed_cells import CrossedCells
from hostctl.metrology.components.gauge_figures import Components

_SOURCE = "Burdick, Borror, Montgomery 2005, 3 (modified large-sample)"


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossedAnova:
    """The table. F of part and operator is against `interaction`, or the pooled line if pooled."""

    part: AnovaLine
    operator: AnovaLine
    interaction: AnovaLine
    repeatability: AnovaLine
    trials: int
    pooled: bool

    @property
    def total(self) -> AnovaLine:
        """All lines together."""
        return self.part.plus(self.operator).plus(self.interaction).plus(self.repeatability)

    @property
    def error(self) -> AnovaLine:
        """Repeatability, with the interaction pooled in where the rule says so."""
        if self.pooled:
            return self.repeatability.plus(self.interaction)
        return self.repeatability

    def test(self, line: AnovaLine) -> Significance | NotYet:
        """F test of the part's or the operator's line against what it must exceed."""
        return f_test(line, self.error if self.pooled else self.interaction)

    @property
    def interaction_test(self) -> Significance | NotYet:
        """F test of the interaction against repeatability."""
        return f_test(self.interaction, self.repeatability)


def crossed_anova(cells: CrossedCells, pool_above: float = 0.25) -> CrossedAnova:
    """Analysis of variance of a full table, two or more parts and operators.

    Raises NotEnough for fewer, or where cells differ in their number of trials.
    """
    trials = cells.trials
    if trials is None:
        raise NotEnough(Reason(Why.UNEVEN_CELLS))
    parts, operators = cells.means.shape
    if min(parts, operators) < 2:
        raise NotEnough(Reason(Why.TOO_FEW_PARTS))
    part, operator, interaction = _effects(cells.means)
    lines = {
        "part": AnovaLine(ss=trials * operators * _ss(part), df=parts - 1),
        "operator": AnovaLine(ss=trials * parts * _ss(operator), df=operators - 1),
        "interaction": AnovaLine(ss=trials * _ss(interaction), df=(parts - 1) * (operators - 1)),
        "repeatability": AnovaLine(ss=cells.within_ss, df=cells.n - parts * operators),
    }
    test = f_test(lines["interaction"], lines["repeatability"])
    pooled = lines["repeatability"].df == 0 or (
        isinstance(test, Significance) and test.p_value > pool_above
    )
    return CrossedAnova(**lines, trials=trials, pooled=pooled)


def crossed_components(anova: CrossedAnova, confidence: float = 0.95) -> Components:
    """Variance components of a full table, floored at zero, with intervals.

    The sums `grr` and `total` add the floored components. Raises NotEnough where the readings of
    every cell are alike.
    """
    if anova.error.ss == 0.0:
        raise NotEnough(Reason(Why.REPEATS_EXACTLY))
    trials = anova.trials
    parts, operators = anova.part.df + 1, anova.operator.df + 1
    error = anova.error.mean_square
    below = error if anova.pooled else anova.interaction.mean_square
    n = parts * operators * trials

    def over(upper: MeanSquare, lower: MeanSquare, readings: int) -> Estimate:
        interval = component_interval(upper, lower, confidence)
        limits = interval.low / readings, interval.high / readings
        return _sd_estimate((upper.value - lower.value) / readings, limits, n, confidence)

    def together(
        floored: list[Estimate], part_of_it: Estimate, share: float, *spread: tuple[AnovaLine, int]
    ) -> Estimate:
        """Lines by the number of readings each is spread over, the rest shared by the two below.

        Where components were floored the closed form may end below what they add up to, so it is
        held to include that, and to reach as far as the interval of a part of the sum.
        """
        weights = [(line.mean_square, 1.0 / readings) for line, readings in spread]
        weights += _below_weights(anova, share, trials)
        terms = [MeanSquare(value=m.value, df=m.df, factor=f) for m, f in weights if f > 0.0]
        interval = sum_interval(terms, confidence)
        variance = math.fsum(estimate.value**2 for estimate in floored)
        limits = min(interval.low, variance), max(interval.high, part_of_it.high**2)
        return _sd_estimate(variance, limits, n, confidence)

    repeatability = _of_one(error, n, confidence)
    operator = over(anova.operator.mean_square, below, parts * trials)
    interaction = None if anova.pooled else over(below, error, trials)
    part = over(anova.part.mean_square, below, operators * trials)
    gauge = [repeatability, operator, *([interaction] if interaction else [])]
    by_operator, by_part = (anova.operator, parts * trials), (anova.part, operators * trials)
    grr = together(gauge, repeatability, 1.0 / parts, by_operator)
    both = 1.0 / parts + 1.0 / operators
    return Components(
        repeatability=repeatability,
        operator=operator,
        interaction=interaction,
        part=part,
        grr=grr,
        total=together([*gauge, part], grr, both, by_operator, by_part),
    )


def _below_weights(
    anova: CrossedAnova, share: float, trials: int
) -> list[tuple[MeanSquare, float]]:
    """What a sum of components leaves on the interaction's and the error's mean squares."""
    if anova.pooled:
        return [(anova.error.mean_square, 1.0 - share / trials)]
    return [
        (anova.interaction.mean_square, (1.0 - share) / trials),
        (anova.error.mean_square, 1.0 - 1.0 / trials),
    ]


def _of_one(mean_square: MeanSquare, n: int, confidence: float) -> Estimate:
    interval = sum_interval([mean_square], confidence)
    return _sd_estimate(mean_square.value, (interval.low, interval.high), n, confidence)


def _sd_estimate(
    variance: float, limits: tuple[float, float], n: int, confidence: float
) -> Estimate:
    low, high = (math.sqrt(max(0.0, limit)) for limit in limits)
    return Estimate(
        value=math.sqrt(max(0.0, variance)),
        interval=Interval(low=low, high=high, confidence=confidence),
        n=n,
        how="analysis of variance, floored at zero",
        source=_SOURCE,
    )


def _effects(means: Array) -> tuple[Array, Array, Array]:
    """Part, operator and interaction effects of a table of cell means."""
    centred = means - means.mean()
    part = centred.mean(axis=1)
    operator = centred.mean(axis=0)
    return part, operator, centred - part[:, None] - operator[None, :]


def _ss(effects: Array) -> float:
    return float(np.sum(np.square(effects)))
