"""An uncertainty budget: the inputs, how the measurand follows from them, how they hang together.

A budget file maps to `Budget` field by field:

    measurand: height of the nozzle over the datum
    unit: mm
    confidence: 0.95
    contributions:
      - resolution: {step_mm: 0.01, difference: true}
      - indicator_error: {limit_mm: 0.005}
      - tilted_stem: {travel_mm: 0.5, tilt_deg: 3}
      - rig_repeatability: {sd_mm: 0.003, df: 19}
      - thermal_growth: {length_mm: 50, expansion_per_k: 23.1e-6, expansion_limit_per_k: 1e-6,
                         change_k: 0, change_limit_k: 1}
      - contact_force: {force_limit_n: 0.2, stiffness_n_per_mm: 80}
      - other: {name: squareness, value: 0, uniform: 0.002}    # or normal: sd, with df
    correlations:
      - {between: [indicator's permissible error, squareness], r: 0.3}
"""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias

import numpy as np

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.uncertainty.contributions import Contribution, Input, as_input

# Called with one value an input, in their order: floats, or arrays of equal length.
Model: TypeAlias = Callable[..., Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Correlation:
    """Correlation coefficient r between the errors of two inputs, by name."""

    first: str
    second: str
    r: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """What is measured, and everything that makes it doubtful.

    model: the measurand as a function of the inputs; without one it is their sum, each times its
    sensitivity. sensitivities: by name, given; those not given are found numerically from the
    model, or are 1 without one.
    """

    contributions: tuple[Contribution, ...]
    model: Model | None = None
    sensitivities: Mapping[str, float] = field(default_factory=dict)
    correlations: tuple[Correlation, ...] = ()
    confidence: float = 0.95
    measurand: str = "reading"
    unit: str = "mm"

    def __post_init__(self) -> None:
        names = [one.name for one in self.inputs]
        if not names:
            raise NotEnough(Reason(Why.NO_CONTRIBUTION))
        if len(set(names)) < len(names):
            raise NotEnough(Reason(Why.NAMES_TWICE, names=", ".join(names)))
        for one in self.inputs:
            _check_usable(one)
        strangers = {n for c in self.correlations for n in (c.first, c.second)} - set(names)
        if strangers := strangers | (set(self.sensitivities) - set(names)):
            raise NotEnough(Reason(Why.NO_SUCH_CONTRIBUTION, names=", ".join(sorted(strangers))))
        if self.correlations and np.linalg.eigvalsh(self.correlation_matrix()).min() < -1e-9:
            raise NotEnough(Reason(Why.CORRELATIONS_CONTRADICT))

    @property
    def inputs(self) -> tuple[Input, ...]:
        """The contributions as inputs."""
        return tuple(as_input(one) for one in self.contributions)

    def correlation_matrix(self) -> np.ndarray[Any, np.dtype[np.float64]]:
        """Symmetric, ones on the diagonal, in the order of the inputs."""
        names = [one.name for one in self.inputs]
        matrix = np.eye(len(names))
        for pair in self.correlations:
            i, j = names.index(pair.first), names.index(pair.second)
            matrix[i, j] = matrix[j, i] = pair.r
        return matrix

    def evaluate(self, values: Iterable[Any]) -> Any:
        """The measurand at these values of the inputs, numbers or arrays."""
        if self.model is not None:
            return self.model(*values)
        weights = [self.sensitivities.get(one.name, 1.0) for one in self.inputs]
        return sum(weight * value for weight, value in zip(weights, values, strict=True))


def _check_usable(one: Input) -> None:
    if not (math.isfinite(one.value) and 0 <= one.u < math.inf and one.df > 0):
        raise NotEnough(
            Reason(Why.INPUT_UNUSABLE, name=one.name, value=one.value, u=one.u, df=one.df)
        )
