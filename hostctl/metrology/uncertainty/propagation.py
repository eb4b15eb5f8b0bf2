"""The law of propagation of uncertainty (JCGM 100:2008, the GUM; clauses from memory).

u_c² = Σ (c_i u_i)² + 2 Σ c_i c_j u_i u_j r_ij (eq. 13); ν_eff by Welch and Satterthwaite
(eq. G.2b), rounded to one decimal as the GUM prints it and then cut to a whole number (G.4.1);
U = k u_c with k from Student's t at ν_eff (G.3.2).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from hostctl.metrology.basis.distributions import student_t_quantile
from hostctl.metrology.basis.estimate import Interval, NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.uncertainty.budget import Budget
from hostctl.metrology.uncertainty.contributions import Input
from hostctl.metrology.uncertainty.laws import Arcsine, InexactUniform, Uniform

_NARROW = 0.25  # in u: narrow enough for a derivative, wide enough to be seen above the rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLine:
    """One row of the table: c u in the measurand's unit, with sign; share of u_c², before pairs."""

    name: str
    value: float
    u: float
    df: float
    sensitivity: float
    contribution: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Combined:
    """The measurand with its uncertainty. df is unrounded; df_used is what k was taken at."""

    value: float
    u: float
    df: float
    df_used: float
    coverage_factor: float
    expanded: float
    confidence: float
    lines: tuple[BudgetLine, ...]
    cautions: tuple[Reason, ...]
    source: str = "JCGM 100:2008, equations 13 and G.2b"

    @property
    def interval(self) -> Interval:
        """value ± expanded."""
        low, high = self.value - self.expanded, self.value + self.expanded
        return Interval(low=low, high=high, confidence=self.confidence)


def combine(budget: Budget) -> Combined:
    """Propagate the budget's uncertainties; see the head of this module for the formulas.

    Correlated inputs count as one part in ν_eff, on the fewest degrees of freedom among them.
    Raises NotEnough where the model gives no finite value.
    """
    inputs = budget.inputs
    parts = np.array([_contribution(budget, one, i) for i, one in enumerate(inputs)])
    shared = budget.correlation_matrix() * np.outer(parts, parts)
    variance = max(float(shared.sum()), 0.0)
    value = float(budget.evaluate([one.value for one in inputs]))
    if not math.isfinite(value + variance):
        raise NotEnough(Reason(Why.MODEL_HAS_NO_VALUE, measurand=budget.measurand))
    df = _effective_df(budget, shared, variance)
    df_used = df if math.isinf(df) else max(1.0, math.floor(round(df, 1)))
    factor = student_t_quantile((1 + budget.confidence) / 2, df_used)
    lines = tuple(
        BudgetLine(
            name=one.name,
            value=one.value,
            u=one.u,
            df=one.df,
            sensitivity=float(part) / one.u if one.u else 0.0,
            contribution=float(part),
            share=float(part) ** 2 / variance if variance else 0.0,
        )
        for one, part in zip(inputs, parts, strict=True)
    )
    return Combined(
        value=value,
        u=math.sqrt(variance),
        df=df,
        df_used=df_used,
        coverage_factor=factor,
        expanded=factor * math.sqrt(variance),
        confidence=budget.confidence,
        lines=lines,
        cautions=_cautions(budget, lines, variance),
    )


def second_order_variance(budget: Budget) -> float:
    """What the model's curvature adds to u_c², for independent inputs (JCGM 100 5.1.2, note).

    Σ_ij (f_ij²/2 + f_i f_ijj) u_i² u_j², its derivatives by differences a quarter of u wide.
    """
    return math.fsum(float(_curvatures(budget, i).sum()) for i in range(len(budget.inputs)))


def _contribution(budget: Budget, one: Input, index: int) -> float:
    """c u of one input: half the change of the model from x - u to x + u (5.1.3, note 2)."""
    if one.name in budget.sensitivities or budget.model is None:
        return budget.sensitivities.get(one.name, 1.0) * one.u
    return (_at(budget, {index: 1}) - _at(budget, {index: -1})) / 2


def _at(budget: Budget, steps: Mapping[int, float]) -> float:
    """The model with some inputs moved by so many of their u."""
    moved = [one.value + steps.get(i, 0) * one.u for i, one in enumerate(budget.inputs)]
    return float(budget.evaluate(moved))


def _curvatures(budget: Budget, i: int) -> np.ndarray[Any, Any]:
    """(f_ij²/2 + f_i f_ijj) u_i² u_j² for every j; what is the same either way comes in twice."""
    h, inputs = _NARROW, budget.inputs
    each = np.eye(len(inputs))

    def f(a: float, b: float) -> Any:
        """The model at x_i + a u_i, x_j + b u_j: all j at once."""
        steps = b * each + a * each[:, i : i + 1]
        return budget.evaluate(
            [one.value + row * one.u for one, row in zip(inputs, steps, strict=True)]
        )

    mixed = (f(h, h) - f(h, -h) - f(-h, h) + f(-h, -h)) / (4 * h**2)
    first = (f(h, 0) - f(-h, 0)) / (2 * h)
    bent = [(f(a, h) - 2 * f(a, 0) + f(a, -h)) / h**2 for a in (h, -h)]
    return np.asarray(mixed**2 / 2 + first * (bent[0] - bent[1]) / (2 * h))


def _effective_df(budget: Budget, shared: np.ndarray[Any, Any], variance: float) -> float:
    if variance == 0:
        return math.inf
    inputs = budget.inputs
    total = 0.0
    for group in _correlated_groups(shared):
        part = float(shared[np.ix_(group, group)].sum())
        total += part**2 / min(inputs[i].df for i in group)
    return variance**2 / total if total else math.inf


def _correlated_groups(shared: np.ndarray[Any, Any]) -> list[list[int]]:
    """Inputs that hang together by correlation, directly or through others."""
    linked = shared != 0
    left = list(range(len(shared)))
    groups = []
    while left:
        group, frontier = [], [left[0]]
        while frontier:
            i = frontier.pop()
            if i in left:
                left.remove(i)
                group.append(i)
                frontier += [j for j in left if linked[i, j]]
        groups.append(group)
    return groups


def _cautions(budget: Budget, lines: Sequence[BudgetLine], variance: float) -> tuple[Reason, ...]:
    cautions = []
    index, largest = max(enumerate(lines), key=lambda pair: abs(pair[1].contribution))
    rest = variance - largest.contribution**2
    flat = isinstance(budget.inputs[index].law, Uniform | Arcsine | InexactUniform)
    if flat and variance > 0 and rest <= (0.3 * largest.contribution) ** 2:
        cautions.append(Reason(Why.UNIFORM_DOMINATES, name=largest.name))
    if budget.model is not None and second_order_variance(budget) > 0.05 * variance > 0:
        cautions.append(Reason(Why.MODEL_BENDS))
    if budget.correlations and any(not math.isinf(one.df) for one in budget.inputs):
        cautions.append(Reason(Why.CORRELATED_FREEDOM))
    return tuple(cautions)
