"""Does the order of settings show in them, where several blocks each have a zero of their own.

Only what happens within blocks is looked at: between them, zeros differ. Mann and Kendall's score
is summed over blocks with its variance (the seasonal form); a common slope is fitted by least
squares about each block's own mean; neighbours are compared about it too.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, count, islice
from operator import mul

from hostctl.metrology.basis.distributions import normal_quantile, normal_sf, student_t_quantile
from hostctl.metrology.basis.estimate import (
    Estimate,
    Interval,
    NotEnough,
    NotYet,
    Readings,
    finite_sample,
    is_array,
)
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.rounded.mean import largest_shift

_COUNTED_OUT_TO = 100  # settings in a block up to which all pairs are compared one by one


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockDrift:
    """A drift within blocks: its test, the slope per setting, and the spread about that slope.

    residual_sd: never below that of rounding, h / sqrt(12).
    """

    test: Significance
    slope: Estimate
    residual_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbours:
    """How far each setting resembles the one before it in its block, -1 to 1.

    Independent settings stay within ± `band` around `expected` (large-sample).
    """

    value: float
    expected: float
    band: float
    n: int
    source: str = "e-Handbook 1.3.5.12; expectation: Kendall 1954, Biometrika 41, 403-404"

    @property
    def unusual(self) -> bool:
        """Whether independent settings would seldom show as much."""
        return abs(self.value - self.expected) > self.band


def block_drift(
    blocks: Sequence[Readings], confidence: float = 0.95, *, resolution: float = 0.0
) -> BlockDrift | NotYet:
    """Do settings tend to rise or fall within their blocks; blocks of fewer than 3 tell nothing.

    resolution: what they were rounded to, 0 for points; the slope is wider by what that may have
    moved it.
    Two-sided p, normal, corrected for ties and continuity. Raises NotEnough where no block has 3
    or fewer than 6 settings are left; NotYet where all blocks are alike within.
    Source: Hirsch, Slack and Smith 1982, Water Resources Research 18, 107-121.
    """
    usable = [b for b in (_finite(block) for block in blocks) if len(b) >= 3]
    n = sum(len(block) for block in usable)
    if n < 6:
        raise NotEnough(Reason(Why.DRIFT_TOO_FEW))
    scores = [_score(block) for block in usable]
    variance = math.fsum(part for _, part in scores)
    if variance == 0.0:
        return NotYet(reason=Reason(Why.DRIFT_HIDDEN))
    score = sum(part for part, _ in scores)
    z = max(0.0, abs(score) - 1.0) / math.sqrt(variance)
    slope, residual_sd = _common_slope(usable, n, confidence, resolution)
    return BlockDrift(
        test=Significance(
            statistic=float(score),
            p_value=min(1.0, 2.0 * normal_sf(z)),
            df=(),
            n=n,
            how="Mann-Kendall summed over blocks, corrected for ties",
            source="Hirsch, Slack and Smith 1982; Mann 1945; Kendall 1975",
        ),
        slope=slope,
        residual_sd=residual_sd,
    )


def block_neighbours(blocks: Sequence[Readings], confidence: float = 0.95) -> Neighbours | NotYet:
    """Lag-1 autocorrelation about each block's mean. NotYet below 10 settings or all alike."""
    usable = [_deviations(b) for b in (_finite(block) for block in blocks) if len(b) >= 3]
    n = sum(len(block) for block in usable)
    if n < 10:
        return NotYet(reason=Reason(Why.NEIGHBOURS_TOO_FEW, least=10), needs_n=10)
    total = math.fsum(chain.from_iterable(map(mul, block, block) for block in usable))
    if total == 0.0:
        return NotYet(reason=Reason(Why.CORRELATION_HIDDEN))
    product = math.fsum(
        chain.from_iterable(map(mul, block, islice(block, 1, None)) for block in usable)
    )
    return Neighbours(
        value=product / total,
        expected=-sum(1.0 - 1.0 / len(block) for block in usable) / (n - len(usable)),
        band=normal_quantile((1.0 + confidence) / 2.0) / math.sqrt(n),
        n=n,
    )


def _finite(block: Readings) -> list[float]:
    return finite_sample(block, least=0, what="a block")


def _deviations(block: Sequence[float]) -> list[float]:
    mean = math.fsum(block) / len(block)
    return [value - mean for value in block]


def _score(block: Sequence[float]) -> tuple[int, float]:
    """Rises less falls over all pairs, and the variance of that in a random order."""
    if len(block) > _COUNTED_OUT_TO or is_array(block):
        return _score_of_many(block)
    score = sum(
        (later > one) - (later < one) for k, one in enumerate(block) for later in block[k + 1 :]
    )
    sizes: dict[float, int] = {}
    for value in block:
        sizes[value] = sizes.get(value, 0) + 1
    return score, _variance(len(block), sizes.values())


def _score_of_many(block: Sequence[float]) -> tuple[int, float]:
    import numpy as np

    from hostctl.metrology.basis.ranks import dense_ranks, rises_less_falls

    sample = np.asarray(block, dtype=np.float64)
    _, ties = dense_ranks(sample)
    return rises_less_falls(sample), _variance(sample.size, ties.tolist())


def _variance(n: int, ties: Iterable[int]) -> float:
    tied = sum(t * (t - 1.0) * (2.0 * t + 5.0) for t in ties)
    return (n * (n - 1.0) * (2.0 * n + 5.0) - tied) / 18.0


def _steps(block: Sequence[float]) -> Iterator[float]:
    """How far each setting is from the middle of its block, in settings."""
    middle = (len(block) - 1) / 2.0
    return islice(count(-middle), len(block))


def _common_slope(
    blocks: Sequence[Sequence[float]], n: int, confidence: float, resolution: float
) -> tuple[Estimate, float]:
    """Least squares with a level for each block and one slope, per setting."""
    away = [_deviations(block) for block in blocks]
    across = math.fsum(len(block) * (len(block) ** 2 - 1) / 12.0 for block in blocks)
    slope = math.fsum(chain.from_iterable(map(mul, _steps(a), a) for a in away)) / across
    rest = math.fsum((y - slope * x) ** 2 for a in away for x, y in zip(_steps(a), a, strict=True))
    df = n - len(blocks) - 1
    variance, of_rounding = rest / df, resolution * resolution / 12.0
    residual_sd = math.sqrt(max(variance, of_rounding))
    reach = student_t_quantile((1.0 + confidence) / 2.0, df) * residual_sd / math.sqrt(across)
    if resolution:
        shift = largest_shift(math.sqrt(max(variance - of_rounding, 0.0)), resolution)
        reach += shift * math.fsum(map(abs, chain.from_iterable(map(_steps, blocks)))) / across
    return (
        Estimate(
            value=slope,
            interval=Interval(low=slope - reach, high=slope + reach, confidence=confidence),
            n=n,
            how="least squares, a level for each block and one slope",
            source="JCGM 100:2008, H.3",
        ),
        residual_sd,
    )
