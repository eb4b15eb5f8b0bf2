"""Settings that stand far from the rest of their block, where several blocks share one spread.

Each block has a mean of its own, so a setting's distance from it is brought to a common scale: e /
(s sqrt(1 - 1/n)), with s pooled over blocks on df degrees of freedom. With one block this is
Grubbs' statistic over sqrt(1 - 1/n), and so is its limit: the procedure is then the generalised
extreme studentised deviate one.

A reading is an interval one resolution wide: the distance counted is that of the nearest value it
may have been. Without that, one reading a graduation off among many alike would be called wild.
Nothing is removed; results are given with and without.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from operator import mul

from hostctl.metrology.basis.distributions import student_t_quantile, student_t_sf
from hostctl.metrology.basis.estimate import Readings, finite_sample

_FEW_HIDE_NOBODY = 10_000  # settings among which a few wild ones hardly move s
_SOURCE = "Rosner 1983, Technometrics 25, 165-172; Grubbs 1969 where one; ISO 5725-2:1994, 7.3.4"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlier:
    """A setting that stands out: block and place count from 0, `away` is from its block's mean.

    `distance`: in standard deviations, to compare with `limit`.
    """

    block: int
    place: int
    away: float
    distance: float
    limit: float
    p_value: float
    source: str = _SOURCE


def block_outliers(
    blocks: Sequence[Readings], *, most: int, resolution: float = 0.0, alpha: float = 0.05
) -> tuple[Outlier, ...]:
    """The settings that stand out, up to `most`, allowing for their hiding one another.

    The farthest is set aside and the test repeated; all up to the last significant one are named.
    Empty where too few settings are left to judge by. Raises NotEnough for no number.
    """
    left = [finite_sample(block, least=1, what="a block") for block in blocks]
    steps: list[Outlier] = []
    while len(steps) < most:
        step = _farthest(left, resolution, alpha)
        if step is None:
            break
        del left[step.block][step.place]
        steps.append(replace(step, place=_first_place(step, steps)))
        if step.distance <= step.limit and sum(map(len, left)) >= _FEW_HIDE_NOBODY:
            break
    last = max((k for k, step in enumerate(steps, 1) if step.distance > step.limit), default=0)
    return tuple(steps[:last])


def _first_place(step: Outlier, before: Sequence[Outlier]) -> int:
    """The place it had in its block before any was set aside."""
    place = step.place
    for gone in sorted(one.place for one in before if one.block == step.block):
        place += gone <= place
    return place


def _farthest(left: Sequence[Sequence[float]], resolution: float, alpha: float) -> Outlier | None:
    """Its place is that among those left."""
    n = sum(len(block) for block in left)
    df = n - sum(1 for block in left if block)
    if df < 2:
        return None
    squares, best = 0.0, (0.0, 0, 0, 0.0)
    for number, block in enumerate(left):
        if len(block) < 2:
            continue
        mean = math.fsum(block) / len(block)
        away = [value - mean for value in block]
        squares += math.fsum(map(mul, away, away))
        ends = sorted((away.index(min(away)), away.index(max(away))))
        k = max(ends, key=lambda place: abs(away[place]))
        scaled = max(0.0, abs(away[k]) - resolution / 2.0) / math.sqrt(1.0 - 1.0 / len(block))
        best = max(best, (scaled, number, k, away[k]))
    if best[0] == 0.0:
        return None
    distance = best[0] / math.sqrt(squares / df)
    return Outlier(
        block=best[1],
        place=best[2],
        away=best[3],
        distance=distance,
        limit=_limit(n, df, alpha),
        p_value=_p_value(distance, n, df),
    )


def _limit(n: int, df: int, alpha: float) -> float:
    """Bonferroni's limit for the largest of n such distances, two-sided."""
    t = student_t_quantile(1.0 - alpha / (2 * n), df - 1)
    return t * math.sqrt(df / (df - 1 + t * t))


def _p_value(distance: float, n: int, df: int) -> float:
    room = df - distance**2
    if room <= 0.0:
        return 0.0
    return min(1.0, 2 * n * student_t_sf(distance * math.sqrt((df - 1) / room), df - 1))
