"""One method, several places: repeatability and reproducibility of an interlaboratory experiment.

A laboratory here is a workshop, its machine included. Nothing is removed: Cochran's, Grubbs' and
Mandel's figures are shown for a person to judge.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array, exact_mean, exact_sum, finite_array, variance
from hostctl.metrology.basis.distributions import f_quantile, student_t_quantile
from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.components.anova import one_way

REPEATED = (
    2.8  # the limit of two settings over their spread: 1.96 sqrt 2, rounded as the standard has it
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Precision:
    """One level of an experiment, all in the readings' unit.

    s_r: repeatability; s_l: between laboratories, floored at zero; s_R: reproducibility. h and k:
    Mandel's statistics by laboratory. `cochran`: the largest variance's share of all.
    """

    laboratories: tuple[str, ...]
    means: tuple[float, ...]
    mean: float
    s_r: float
    s_l: float
    h: tuple[float, ...] | NotYet
    k: tuple[float, ...] | NotYet
    cochran: float | NotYet
    n: int

    @property
    def s_R(self) -> float:  # the standard's own symbol
        """Reproducibility standard deviation."""
        return math.hypot(self.s_r, self.s_l)

    @property
    def repeatability_limit(self) -> float:
        """Two settings by one hand differ by more only once in twenty. ISO 5725-6, 4.1.4."""
        return REPEATED * self.s_r

    @property
    def reproducibility_limit(self) -> float:
        """The same for two hands."""
        return REPEATED * self.s_R


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """Spreads within laboratories alone, in the readings' unit, each about its blocks' own means.

    sds, dfs, k: by laboratory; k is Mandel's.  s_r: repeatability, pooled.
    """

    sds: tuple[float, ...]
    dfs: tuple[int, ...]
    s_r: float
    k: tuple[float, ...] | NotYet


def spreads(by_laboratory: Mapping[str, Sequence[npt.ArrayLike]]) -> Spreads:
    """s_r and k from two or more laboratories' blocks, whose zeros may all differ.

    Raises NotEnough below two laboratories, two readings in any block, or for a value that is not
    a number. Source: ISO 5725-2:1994, 7.3.1 and 7.4.5.
    """
    if len(by_laboratory) < 2:
        raise NotEnough(Reason(Why.TOO_FEW_LABORATORIES, least=2))
    sums, dfs = [], []
    for name, blocks in by_laboratory.items():
        samples = [finite_array(block, least=2, what=f"spreads, {name}") for block in blocks]
        dfs.append(sum(sample.size - 1 for sample in samples))
        sums.append(math.fsum((sample.size - 1) * variance(sample) for sample in samples))
    variances = np.array(sums) / np.array(dfs)
    return Spreads(
        sds=tuple(np.sqrt(variances).tolist()),
        dfs=tuple(dfs),
        s_r=math.sqrt(math.fsum(sums) / sum(dfs)),
        k=_mandel_k(variances),
    )


def precision(by_laboratory: Mapping[str, npt.ArrayLike]) -> Precision:
    """s_r and s_R from two or more laboratories, whose numbers of readings may differ.

    Raises NotEnough below two laboratories, two readings in any, or for a value that is not a
    number. Source: ISO 5725-2:1994, 7.4.4 and 7.4.5; h and k 7.3.1, Cochran 7.3.3.
    """
    if len(by_laboratory) < 2:
        raise NotEnough(Reason(Why.TOO_FEW_LABORATORIES, least=2))
    samples = [
        finite_array(values, least=2, what=f"precision, {name}")
        for name, values in by_laboratory.items()
    ]
    sizes = np.array([float(sample.size) for sample in samples])
    means = np.array([exact_mean(sample) for sample in samples])
    variances = np.array([variance(sample) for sample in samples])
    anova = one_way(samples)
    mean = exact_sum(sizes * means) / exact_sum(sizes)
    return Precision(
        laboratories=tuple(by_laboratory),
        means=tuple(means.tolist()),
        mean=mean,
        s_r=anova.residual_sd,
        s_l=math.sqrt(max(0.0, anova.between.ms - anova.within.ms) / _typical_size(sizes)),
        h=_mandel_h(means),
        k=_mandel_k(variances),
        cochran=_cochran(variances),
        n=int(sizes.sum()),
    )


def cochran_limit(laboratories: int, readings: int, alpha: float = 0.05) -> float:
    """Critical value of Cochran's C for equal numbers of readings. ISO 5725-2:1994, table 4."""
    _check_counts(laboratories, readings)
    f = f_quantile(1.0 - alpha / laboratories, readings - 1, (laboratories - 1) * (readings - 1))
    return f / (f + laboratories - 1)


def mandel_h_limit(laboratories: int, alpha: float = 0.05) -> float:
    """Critical value of Mandel's h, two-sided. ISO 5725-2:1994, 8.3 (from memory)."""
    _check_counts(laboratories, 2, least=3)
    p = laboratories
    t = student_t_quantile(1.0 - alpha / 2.0, p - 2)
    return (p - 1) * t / math.sqrt(p * (t * t + p - 2))


def mandel_k_limit(laboratories: int, readings: int, alpha: float = 0.05) -> float:
    """Critical value of Mandel's k. ISO 5725-2:1994, 8.3 (from memory)."""
    _check_counts(laboratories, readings)
    p = laboratories
    f = f_quantile(alpha, (p - 1) * (readings - 1), readings - 1)
    return math.sqrt(p / (1.0 + (p - 1) * f))


def _check_counts(laboratories: int, readings: int, least: int = 2) -> None:
    if laboratories < least or readings < 2:
        raise NotEnough(Reason(Why.TOO_FEW_LABORATORIES, least=least))


def _typical_size(sizes: Array) -> float:
    total = exact_sum(sizes)
    return (total - exact_sum(np.square(sizes)) / total) / (sizes.size - 1)


def _mandel_h(means: Array) -> tuple[float, ...] | NotYet:
    sd = math.sqrt(variance(means))
    if sd == 0.0:
        return NotYet(reason=Reason(Why.LABORATORIES_SAME_MEAN))
    return tuple(((means - exact_mean(means)) / sd).tolist())


def _mandel_k(variances: Array) -> tuple[float, ...] | NotYet:
    if not variances.any():
        return NotYet(reason=Reason(Why.LABORATORIES_DO_NOT_VARY))
    return tuple(np.sqrt(variances / exact_mean(variances)).tolist())


def _cochran(variances: Array) -> float | NotYet:
    if not variances.any():
        return NotYet(reason=Reason(Why.LABORATORIES_DO_NOT_VARY))
    return float(variances.max()) / exact_sum(variances)
