"""How long to wait before touches count: the warm-up that a loop itself shows.

The loop is cut into STRETCHES of as many touches each. The last quarter is where it settled; a
stretch counts as warming up where its mean lies farther from that than matters, by more than chance
explains (Welch's t, 1 % shared over the stretches). The advice is the time of the first touch after
the last such stretch.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array, finite_array
from hostctl.metrology.basis.distributions import student_t_quantile
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason, Why

STRETCHES = 40
_IN_EACH = 3  # touches at least
_RISK = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpAdvice:
    """Wait so long after the first touch.  touches: how many come before.  drifted: the first
    stretch less the settled level, in the readings' unit.  matters: what was allowed.
    """

    wait_s: float
    touches: int
    drifted: float
    matters: float


def warm_up_wait(
    readings: npt.ArrayLike, times_s: npt.ArrayLike, *, matters: float, resolution: float
) -> WarmUpAdvice | NotYet:
    """From touches in order and their times; 0 s where no warm-up shows.

    matters: a drift up to this is let pass, in the readings' unit, 0 or more. NotYet below 24
    touches, and where the last quarter itself still drifts by more: then it was too short.
    """
    y = finite_array(readings, least=0, what="a loop")
    t = finite_array(times_s, least=0, what="times")
    if y.size != t.size or matters < 0.0:
        raise ValueError(f"{y.size} readings, {t.size} times, {matters} matters: one time each")
    many = min(STRETCHES, y.size // _IN_EACH) // 4 * 4
    if many < 8:
        least = 8 * _IN_EACH
        reason = Reason(Why.TOO_FEW, what="warm-up", given=y.size, least=least)
        return NotYet(reason=reason, needs_n=least)
    edges = np.linspace(0, y.size, many + 1).astype(np.intp)
    stretches = [y[a:b] for a, b in pairwise(edges)]
    settled = y[edges[many * 3 // 4] :]
    halves = np.array_split(settled, 2)
    if _apart(halves[0], halves[1], matters, resolution, many):
        return NotYet(reason=Reason(Why.DRIFTS_TO_THE_END))
    early = stretches[: many * 3 // 4]
    warming = [i for i, one in enumerate(early) if _apart(one, settled, matters, resolution, many)]
    after = int(edges[warming[-1] + 1]) if warming else 0
    return WarmUpAdvice(
        wait_s=float(t[after] - t[0]),
        touches=after,
        drifted=float(stretches[0].mean() - settled.mean()),
        matters=matters,
    )


def _apart(one: Array, other: Array, matters: float, resolution: float, many: int) -> bool:
    """Whether two means lie farther apart than matters, surely."""
    floor = resolution * resolution / 12.0
    parts = [max(float(a.var(ddof=1)), floor) / a.size for a in (one, other)]
    df = sum(parts) ** 2 / sum(
        p * p / (a.size - 1) for p, a in zip(parts, (one, other), strict=True)
    )
    reach = student_t_quantile(1.0 - _RISK / (2 * many), df) * math.sqrt(sum(parts))
    return abs(float(one.mean() - other.mean())) > matters + reach
