"""The distributions that intervals and tests need, in plain Python.

scipy.special takes three times as long to import as analysing thirty readings takes, so it is
left out of that path. Relative error stays near 1e-12 in either tail (see incomplete_functions).

A lower-tail probability is `_cdf`, an upper-tail one `_sf`; a `_quantile` undoes the `_cdf`.
Degrees of freedom are above 0 and need not be whole. Raises ValueError outside the domain.
The latest quantiles are remembered: an analysis asks for the same few over and over.
"""

import math
from collections.abc import Callable
from functools import lru_cache
from statistics import NormalDist

from hostctl.metrology.basis.incomplete_functions import (
    beta_factor,
    beta_tails,
    gamma_factor,
    gamma_tails,
)

_STANDARD_NORMAL = NormalDist()
_EPSILON = 2.0**-53
_REMEMBERED = 64


def normal_cdf(z: float) -> float:
    """P(Z <= z) for a standard normal Z."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def normal_sf(z: float) -> float:
    """P(Z > z) for a standard normal Z."""
    return 0.5 * math.erfc(z / math.sqrt(2.0))


def mills_ratio(x: float) -> float:
    """(1 - Phi(x)) / phi(x) for x >= 0; DLMF 7.12.1 where the upper tail would underflow."""
    if x < 25.0:
        return normal_sf(x) * math.exp(0.5 * x * x) * math.sqrt(2.0 * math.pi)
    y = 1.0 / (x * x)
    return (1.0 - y * (1.0 - 3.0 * y * (1.0 - 5.0 * y * (1.0 - 7.0 * y * (1.0 - 9.0 * y))))) / x


def normal_quantile(p: float) -> float:
    """The z with P(Z <= z) = p; Wichura's algorithm AS 241."""
    return _at_ends(p, -math.inf, math.inf) if p in (0, 1) else _STANDARD_NORMAL.inv_cdf(_inside(p))


def probit(chance: float, *, least: float = 1e-12) -> float:
    """The same where a chance may be 0 or 1: no farther out than `least` leaves."""
    return normal_quantile(min(max(chance, least), 1.0 - least))


def chi_square_cdf(x: float, df: float) -> float:
    """P(X <= x) for X chi-square on `df` degrees of freedom."""
    return gamma_tails(_above_0(df, "df") / 2.0, max(x, 0.0) / 2.0)[0]


def chi_square_sf(x: float, df: float) -> float:
    """P(X > x) for X chi-square on `df` degrees of freedom."""
    return gamma_tails(_above_0(df, "df") / 2.0, max(x, 0.0) / 2.0)[1]


@lru_cache(maxsize=_REMEMBERED)
def chi_square_quantile(p: float, df: float) -> float:
    """The x with P(X <= x) = p for X chi-square on `df` degrees of freedom."""
    shape = _above_0(df, "df") / 2.0
    if p in (0, 1):
        return _at_ends(p, 0.0, math.inf)

    def tails_and_slope(log_x: float) -> tuple[float, float, float]:
        x = math.exp(log_x)
        return *gamma_tails(shape, x), gamma_factor(shape, x)

    # Wilson and Hilferty 1931; below their reach P is close to x^a / gamma(a + 1)
    cube_root = 1.0 - 1.0 / (9.0 * shape) + normal_quantile(p) / (3.0 * math.sqrt(shape))
    if cube_root > 0.1:
        start = math.log(shape * cube_root**3)
    else:
        start = (math.log(_inside(p)) + math.lgamma(shape + 1.0)) / shape
    return 2.0 * math.exp(_solve(tails_and_slope, _inside(p), 1.0 - p, start))


def beta_sf(x: float, a: float, b: float) -> float:
    """P(X > x) for X on a beta distribution with shapes a and b."""
    x = min(max(x, 0.0), 1.0)
    return beta_tails(_above_0(a, "a"), _above_0(b, "b"), x, 1.0 - x)[1]


@lru_cache(maxsize=_REMEMBERED)
def beta_quantile(p: float, a: float, b: float) -> float:
    """The x with P(X <= x) = p for X on a beta distribution with shapes a and b."""
    if p in (0, 1):
        return _at_ends(p, 0.0, 1.0)
    log_odds = _beta_log_odds(_inside(p), 1.0 - p, _above_0(a, "a"), _above_0(b, "b"))
    return _logistic(log_odds)


def binomial_cdf(successes: int, trials: int, p: float) -> float:
    """P(at most `successes` in `trials`) when each succeeds with probability `p`; DLMF 8.17.5."""
    if successes < 0:
        return 0.0
    return 1.0 if successes >= trials else beta_sf(p, successes + 1.0, float(trials - successes))


def student_t_cdf(t: float, df: float) -> float:
    """P(T <= t) for T on Student's t with `df` degrees of freedom; infinite is normal."""
    if math.isinf(_above_0(df, "df")):
        return normal_cdf(t)
    if math.isinf(t):
        return 1.0 if t > 0 else 0.0
    below = 0.5 * beta_tails(df / 2.0, 0.5, df / (df + t * t), t * t / (df + t * t))[0]
    return below if t < 0 else 1.0 - below


def student_t_sf(t: float, df: float) -> float:
    """P(T > t) for T on Student's t with `df` degrees of freedom."""
    return student_t_cdf(-t, df)


@lru_cache(maxsize=_REMEMBERED)
def student_t_quantile(p: float, df: float) -> float:
    """The t with P(T <= t) = p for T on Student's t with `df` degrees of freedom."""
    if math.isinf(_above_0(df, "df")):
        return normal_quantile(p)
    if p in (0, 1):
        return _at_ends(p, -math.inf, math.inf)
    if _inside(p) == 0.5:
        return 0.0
    tail = min(p, 1.0 - p)
    log_odds = _beta_log_odds(2.0 * tail, 1.0 - 2.0 * tail, df / 2.0, 0.5)
    return math.copysign(math.sqrt(df) * math.exp(-log_odds / 2.0), p - 0.5)


def f_sf(x: float, df1: float, df2: float) -> float:
    """P(X > x) for X on the F distribution with `df1` over `df2` degrees of freedom."""
    return _f_tails(x, df1, df2)[1]


@lru_cache(maxsize=_REMEMBERED)
def f_quantile(p: float, df1: float, df2: float) -> float:
    """The x with P(X <= x) = p for X on F with `df1` over `df2` degrees of freedom."""
    _above_0(df1, "df1"), _above_0(df2, "df2")
    if p in (0, 1):
        return _at_ends(p, 0.0, math.inf)
    return df2 / df1 * math.exp(_beta_log_odds(_inside(p), 1.0 - p, df1 / 2.0, df2 / 2.0))


def _f_tails(x: float, df1: float, df2: float) -> tuple[float, float]:
    _above_0(df1, "df1"), _above_0(df2, "df2")
    if math.isinf(x) or x <= 0.0:
        return (1.0, 0.0) if x > 0 else (0.0, 1.0)
    whole = df1 * x + df2
    return beta_tails(df1 / 2.0, df2 / 2.0, df1 * x / whole, df2 / whole)


def _above_0(value: float, name: str) -> float:
    if not value > 0.0:
        raise ValueError(f"{name} is {value}, must be above 0")
    return value


def _inside(p: float) -> float:
    if not 0.0 < p < 1.0:
        raise ValueError(f"a probability is {p}, must lie between 0 and 1")
    return p


def _at_ends(p: float, low: float, high: float) -> float:
    return low if p == 0 else high


def _logistic(log_odds: float) -> float:
    if log_odds > 0:
        return 1.0 / (1.0 + math.exp(-log_odds))
    return math.exp(log_odds) / (1.0 + math.exp(log_odds))


def _solve(
    tails_and_slope: Callable[[float], tuple[float, float, float]], p: float, q: float, u: float
) -> float:
    """The u at which the lower tail is p and the upper one q, by Newton on the smaller one's log.

    In these variables (log x, log odds) that log is close to straight, so few steps are needed;
    a bracket that only ever shrinks keeps the rest honest.
    """
    low, high = -math.inf, math.inf
    for _ in range(200):
        below, above, slope = tails_and_slope(u)
        reached, wanted, sign = (below, p, 1.0) if p <= q else (above, q, -1.0)
        gap = math.inf if reached <= 0.0 else math.log(wanted / reached) * sign
        low, high = (u, high) if (gap > 0) == (reached > 0 or p <= q) else (low, u)
        step = gap * reached / slope if slope > 0.0 and reached > 0.0 else math.inf
        after = u + step
        if abs(step) <= 4.0 * _EPSILON * max(1.0, abs(u)):
            return after
        if not low < after < high:
            after = _between(low, high, u)
        if after == u:
            return u
        u = after
    return u


def _between(low: float, high: float, u: float) -> float:
    if math.isinf(high):
        return u + max(1.0, abs(u) / 2.0)
    return u - max(1.0, abs(u) / 2.0) if math.isinf(low) else (low + high) / 2.0


def _beta_log_odds(p: float, q: float, a: float, b: float) -> float:
    """log(x / (1 - x)) at I_x(a, b) = p, with q = 1 - p given to keep its digits."""

    def tails_and_slope(u: float) -> tuple[float, float, float]:
        x, y = _logistic(u), _logistic(-u)
        return *beta_tails(a, b, x, y), beta_factor(a, b, x, y)

    return _solve(tails_and_slope, p, q, math.log(a / b))
