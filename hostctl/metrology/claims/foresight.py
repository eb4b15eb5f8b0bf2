"""How many more trials would probably decide a claim on a spread, given what was read so far.

What was read is kept, the truth is taken to be the figure found, and the rig check stays as it is.
At a sigma the score of readings far above a resolution is a chi-square less its degrees of freedom;
of rounded ones it is worth as many as half its variance, its information. So what was read counts
as a sum of squares with the very score it has, and each trial to come as a chi-square on what it
adds to the information. Exact far above a resolution and without a rig; tests/metrology/
test_foresight.py has how often a verdict then comes.

Readings on one or two graduations give no figure: what is asked is how many more just like them
would do.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from hostctl.metrology.basis.confidence_box import Quantiles, thinned
from hostctl.metrology.basis.distributions import (
    chi_square_cdf,
    chi_square_sf,
    normal_quantile,
    probit,
)
from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.root_finding import crossing, fewest
from hostctl.metrology.claims.assumed import COARSE
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.law.bin_counts import BinCounts

POWER = 0.8
LEAST_SENSIBLE, TIMES_SENSIBLE = 500, 20
"""No more trials than this, or so many times what was read, are advised."""

_EVERY = 4  # of the rig's quantiles that a mean is taken over
_FAR = 8.0  # of a mean square, on its logarithm
_MORE = 0.1  # that a trial to come is worth beyond its information, as simulation asks


def trials_to_verdict(
    total: SpreadEvidence,
    rig: SpreadEvidence | None,
    *,
    limit: float,
    risk: float,
    meets_only: bool = False,
    power: float = POWER,
) -> int | NotYet:
    """The fewest trials more, in the same blocks, after which a verdict comes with this power.

    limit: the setting's spread that the claim allows, in the unit of the readings.  risk: that the
    next look may take at each end.  meets_only: "does not meet" is not to be had, as what is read
    may be the rig's.  NotYet where no sensible number would do, and why.
    """
    if meets_only and total.span > 1 and total.likeliest >= limit:
        return NotYet(reason=Reason(Why.RIG_CHECK_DECIDES))
    if limit < COARSE * total.unit:
        return NotYet(reason=Reason(Why.ROUNDING_DECIDES))
    most = max(LEAST_SENSIBLE, TIMES_SENSIBLE * total.freedom.settings)
    blocks = len(total.blocks)
    if total.span < 2:
        enough, why = _alike_enough(total, rig, limit, risk), Reason(Why.ROUNDING_DECIDES)
    else:
        enough = _foreseen(total, rig, limit, risk, power, both=not meets_only)
        why = Reason(Why.NEAR_THE_LIMIT, most=most)
    try:
        return blocks * fewest(enough, least=1, most=max(most // blocks, 1))
    except NotEnough:
        return NotYet(reason=why, needs_n=most)


def _alike_enough(
    total: SpreadEvidence, rig: SpreadEvidence | None, limit: float, risk: float
) -> Callable[[int], bool]:
    sigmas = _sigmas(rig.box.lower if rig else None, limit)

    def enough(extra: int) -> bool:
        blocks = [_more_alike(block, extra) for block in total.blocks]
        evidence = SpreadEvidence(blocks, total.reference)
        return math.fsum(w * evidence.tails(sigma).narrow for sigma, w in sigmas) <= risk

    return enough


def _more_alike(block: BinCounts, extra: int) -> BinCounts:
    """The block with so many readings more, shared as those that there are."""
    counts = [count + extra * count // block.n for count in block.counts]
    counts[counts.index(max(counts))] += block.n + extra - sum(counts)
    return replace(block, counts=tuple(counts))


def _foreseen(
    total: SpreadEvidence,
    rig: SpreadEvidence | None,
    limit: float,
    risk: float,
    power: float,
    *,
    both: bool,
) -> Callable[[int], bool]:
    close = [_So(total, sigma, w) for sigma, w in _sigmas(rig.box.lower if rig else None, limit)]
    wide = [_So(total, sigma, w) for sigma, w in _sigmas(rig.box.upper if rig else None, limit)]
    truth = _So(total, total.likeliest, 1.0)

    below = total.likeliest < math.fsum(so.weight * so.sigma for so in close)

    def chance(extra: int, *, meets: bool) -> float:
        df = truth.more(extra)
        if meets:
            return chi_square_cdf(df * _square_at(close, truth, extra, risk, chi_square_cdf), df)
        return chi_square_sf(df * _square_at(wide, truth, extra, risk, chi_square_sf), df)

    def enough(extra: int) -> bool:
        """Whether a verdict comes with so many more trials in each block."""
        likely = chance(extra, meets=below or not both)
        if (
            not both or not power - risk < likely < power
        ):  # the unlikely verdict comes in at most the risk
            return likely >= power
        return likely + chance(extra, meets=not below) >= power

    return enough


class _So:
    """What was read and what will be, as chi-squares at one sigma of the total."""

    def __init__(self, total: SpreadEvidence, sigma: float, weight: float) -> None:
        self.weight = weight
        self.sigma = sigma
        self._total = total
        self._at = sigma / total.unit
        self.variance = self._at**2 + 1.0 / 12.0
        self.df = self._worth(0)
        self.squares = max(total.score(sigma) + self.df, 0.0)

    def more(self, extra: int) -> float:
        """What so many trials more in each block add to the degrees of freedom."""
        close = min(max(2.0 * (1.0 - self._at), 0.0), 1.0)
        return (1.0 + _MORE * close) * (self._worth(extra) - self.df)

    def _worth(self, extra: int) -> float:
        return self._total.information(self.sigma, extra) / 2.0


def _square_at(
    places: Sequence[_So],
    truth: _So,
    extra: int,
    risk: float,
    tail: Callable[[float, float], float],
) -> float:
    """The mean square of trials to come, in units of the truth's, at which the tail is the risk."""
    known = [
        (
            so.weight,
            so.squares,
            so.more(extra) * truth.variance / so.variance,
            so.df + so.more(extra),
        )
        for so in places
        if math.isfinite(so.sigma)
    ]
    lost = 0.0 if tail is chi_square_cdf else 1.0 - math.fsum(w for w, *_ in known)

    def missing(log_square: float) -> float:
        square = math.exp(log_square)
        found = lost + math.fsum(w * tail(kept + new * square, df) for w, kept, new, df in known)
        sign = 1.0 if tail is chi_square_cdf else -1.0
        return sign * (probit(found, least=1e-15) - normal_quantile(risk))

    found = crossing(missing, -_FAR, _FAR, step=0.5, within=1e-3)
    if abs(found) == _FAR:
        return 0.0 if found < 0.0 else math.inf
    return math.exp(found)


def _sigmas(rig: Quantiles | None, limit: float) -> list[tuple[float, float]]:
    """What the total may be at the limit, with its weight."""
    drawn = [(0.0, 1.0)] if rig is None else thinned(rig, _EVERY)
    return [(math.hypot(limit, value), weight) for value, weight in drawn]
