"""Propagation of whole distributions by Monte Carlo (JCGM 101:2008, clauses from memory)."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from hostctl.metrology.basis.estimate import Interval, NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.uncertainty.budget import Budget
from hostctl.metrology.uncertainty.laws import Draws, draw
from hostctl.metrology.uncertainty.propagation import Combined

MOST_TRIALS = 4_000_000
_MOST_DRAWS = 400_000_000  # of all inputs together: a few seconds


@dataclass(frozen=True, slots=True, kw_only=True)
class MonteCarlo:
    """What the simulated values of the measurand say.

    symmetric: equal chances beyond either end. shortest: the narrowest that holds the confidence.
    settled: value, u and the ends of `symmetric` were steady to within `tolerance` (7.9.4).
    """

    value: float
    u: float
    symmetric: Interval
    shortest: Interval
    trials: int
    tolerance: float
    settled: bool
    source: str = "JCGM 101:2008, 7.9"


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """How far the two methods' intervals part at each end (JCGM 101:2008, 8.1)."""

    low_difference: float
    high_difference: float
    tolerance: float
    warning: str | None


def propagate(
    budget: Budget, rng: np.random.Generator, *, digits: int = 2, most_trials: int = MOST_TRIALS
) -> MonteCarlo:
    """Draw blocks of trials until the results are steady, then pool all of them (7.9.4).

    digits: significant digits of u that count. Steady is a fifth of half a unit in the last of
    them, tight enough to judge the other method by (8.2). Correlated inputs are drawn jointly
    normal (6.4.8). With hundreds of inputs there are fewer trials, but no fewer than
    10^4 / (1 - p) (7.2.1).  Raises NotEnough where the model gives values that aren't finite.
    """
    p = budget.confidence
    most_trials = min(most_trials, _affordable(p, len(budget.inputs)))
    block = max(math.ceil(100 / (1 - p)), 10_000)
    mixing = _mixing(budget)
    values: list[Draws] = []
    figures: list[tuple[float, float, float, float]] = []
    settled = False
    while not settled and len(values) * block < most_trials:
        drawn = np.asarray(budget.evaluate(_draw_inputs(budget, mixing, rng, block)), dtype=float)
        if drawn.shape != (block,) or not np.isfinite(drawn).all():
            raise NotEnough(Reason(Why.MODEL_FAILS, measurand=budget.measurand))
        drawn.sort()
        values.append(drawn)
        ends = _symmetric(drawn, p)
        figures.append((float(drawn.mean()), float(drawn.std(ddof=1)), ends.low, ends.high))
        tolerance = _tolerance(_pooled_u(figures), digits) / 5
        settled = _steady(figures, tolerance)
    pooled = np.concatenate(values)
    pooled.sort(kind="stable")
    return MonteCarlo(
        value=float(pooled.mean()),
        u=float(pooled.std(ddof=1)),
        symmetric=_symmetric(pooled, p),
        shortest=_shortest(pooled, p),
        trials=len(pooled),
        tolerance=tolerance,
        settled=settled,
    )


def agreement(combined: Combined, simulated: MonteCarlo, *, digits: int = 2) -> Agreement:
    """Whether value ± U is right to the stated digits of u, judged by the simulation (8.1)."""
    tolerance = _tolerance(combined.u, digits)
    low = abs(combined.interval.low - simulated.symmetric.low)
    high = abs(combined.interval.high - simulated.symmetric.high)
    warning = None
    if max(low, high) > tolerance:
        ends = f"{simulated.symmetric.low:.4g} to {simulated.symmetric.high:.4g}"
        linear = f"{combined.interval.low:.4g} to {combined.interval.high:.4g}"
        warning = (
            f"the two methods disagree: {linear} by propagation, {ends} by simulation; "
            "use the simulation"
        )
    elif not simulated.settled:
        warning = f"the simulation had not settled after {simulated.trials} trials"
    return Agreement(low_difference=low, high_difference=high, tolerance=tolerance, warning=warning)


def _affordable(p: float, inputs: int) -> int:
    return max(_MOST_DRAWS // inputs, math.ceil(1e4 / (1 - p)))


def _mixing(budget: Budget) -> np.ndarray[Any, Any] | None:
    """A root of the correlation matrix, that of a singular one too."""
    if not budget.correlations:
        return None
    values, vectors = np.linalg.eigh(budget.correlation_matrix())
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0)))


def _draw_inputs(
    budget: Budget, mixing: np.ndarray[Any, Any] | None, rng: np.random.Generator, size: int
) -> Iterator[Draws]:
    """The inputs' values, one input after the other: a sum need not hold them all at once."""
    inputs = budget.inputs
    if mixing is None:
        yield from (one.value + draw(one.law, rng, size) for one in inputs)
        return
    joint = mixing @ rng.standard_normal((len(inputs), size))
    tied = {name for pair in budget.correlations for name in (pair.first, pair.second)}
    for one, row in zip(inputs, joint, strict=True):
        yield one.value + (one.u * row if one.name in tied else draw(one.law, rng, size))


def _pooled_u(figures: Sequence[tuple[float, float, float, float]]) -> float:
    means, sds = np.array(figures)[:, 0], np.array(figures)[:, 1]
    return float(np.sqrt((sds**2).mean() + means.var()))


def _steady(figures: Sequence[tuple[float, float, float, float]], tolerance: float) -> bool:
    if len(figures) < 2:
        return False
    spread = np.array(figures).std(axis=0, ddof=1) / math.sqrt(len(figures))
    return bool((2 * spread <= tolerance).all())


def _tolerance(u: float, digits: int) -> float:
    """Half a unit in the last of `digits` significant digits of u (7.9.2)."""
    if u == 0:
        return 0.0
    exponent = int(f"{u:.{digits - 1}e}".split("e")[1])
    return 0.5 * 10.0 ** (exponent - digits + 1)


def _symmetric(ordered: Draws, p: float) -> Interval:
    covered = round(p * len(ordered))
    first = (len(ordered) - covered) // 2
    low, high = ordered[first], ordered[min(first + covered, len(ordered) - 1)]
    return Interval(low=float(low), high=float(high), confidence=p)


def _shortest(ordered: Draws, p: float) -> Interval:
    covered = min(round(p * len(ordered)), len(ordered) - 1)
    widths = ordered[covered:] - ordered[: len(ordered) - covered]
    first = int(widths.argmin())
    return Interval(low=float(ordered[first]), high=float(ordered[first + covered]), confidence=p)
