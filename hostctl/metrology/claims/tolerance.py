"""Tolerance intervals: how wide a band must be to hold a stated share of future settings.

Normal settings. With x̄ the mean of n settings and s a standard deviation on df degrees of freedom
(df may differ from n - 1, as when s is pooled over blocks), a factor k is wanted such that the band
x̄ ± k s holds at least `content` of the population in `confidence` of all studies
(ISO 16269-6:2014, from memory). Given how far x̄ fell from the true mean, the band holds enough
once k s/σ reaches a radius r, and s/σ is independent of x̄; so the confidence is an integral over
the mean of a chi-square tail. The integrand is analytic and dies at both ends, so the trapezium
rule converges faster than any power of its step.

`n` may be infinite: the mean is then taken as known, and k only covers the doubt about s.
"""

import math

from hostctl.metrology.basis.distributions import (
    beta_quantile,
    binomial_cdf,
    chi_square_quantile,
    chi_square_sf,
    normal_cdf,
    normal_quantile,
)
from hostctl.metrology.basis.estimate import Interval, NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.root_finding import fewest, solve_rising

_TINY = 1e-300


def two_sided_factor(content: float, confidence: float, n: float, df: float) -> float:
    """k for x̄ ± k s, exact, equal to the tables of ISO 16269-6:2014 annex F (from memory).

    content, confidence: inside (0, 1).  n: settings behind the mean, above 0, may be infinite.
    df: degrees of freedom of s, above 0.  A confidence of 1 - c gives the k below which the band
    is *refuted* at confidence c.  Raises NotEnough where df or n is not above 0.
    """
    _check(content, confidence, n, df)
    z = normal_quantile((1 + content) / 2)
    if math.isinf(n):
        return z / ratio_quantile(1 - confidence, df)
    if math.isinf(df):
        return _radius(content, normal_quantile((1 + confidence) / 2) / math.sqrt(n))
    mesh = [0.25 * i for i in range(34)]
    radii = [_radius(content, v / math.sqrt(n)) for v in mesh]
    weights = [math.exp(-v * v / 2) * (1 if v else 0.5) for v in mesh]
    total = math.fsum(weights)

    def reached(k: float) -> float:
        if k <= 0:
            return 0.0
        tails = (chi_square_sf(df * (r / k) ** 2, df) for r in radii)
        return math.fsum(w * tail for w, tail in zip(weights, tails, strict=True)) / total

    return solve_rising(reached, confidence, howe_factor(content, confidence, n, df))


def howe_factor(content: float, confidence: float, n: float, df: float) -> float:
    """Howe's approximation to `two_sided_factor`, for comparison: z sqrt((1 + 1/n) df / χ²).

    Source: NIST/SEMATECH e-Handbook 7.2.6.3. At 95 %/95 % within 0.4 % from n = 6 on, 5 % high
    at n = 2.
    """
    _check(content, confidence, n, df)
    z = normal_quantile((1 + content) / 2)
    return z * math.sqrt(1 + 1 / n) / ratio_quantile(1 - confidence, df)


def ratio_quantile(p: float, df: float) -> float:
    """The p-quantile of s/σ, for s on `df` degrees of freedom (1 where they are infinite)."""
    return 1.0 if math.isinf(df) else math.sqrt(chi_square_quantile(p, df) / df)


def ratio_nodes(df: float, *, finest: float = 1.0) -> list[tuple[float, float]]:
    """Values of s/σ with weights adding up to 1, for averaging smooth functions of it.

    A trapezium rule in log(s/σ), whose density falls off at both ends; `finest` caps its step
    where the function averaged turns sharper than that density.
    """
    if math.isinf(df):
        return [(1.0, 1.0)]
    step = max(min(0.25 / math.sqrt(2 * df), finest, 0.25), 1e-4)

    def walk(first: int, stride: int) -> list[tuple[float, float]]:
        nodes, i = [], first
        while True:
            t = i * step
            weight = math.exp(df * (t - math.expm1(2 * t) / 2))
            nodes.append((math.exp(t), weight))
            i += stride
            if weight < 1e-17:
                return nodes

    nodes = walk(0, 1) + walk(-1, -1)
    total = math.fsum(weight for _, weight in nodes)
    return [(w, weight / total) for w, weight in nodes]


def half_width_holding(content: float, offset: float, sigma: float) -> float:
    """The h for which -h to h holds `content` of a normal law with mean `offset` and sd `sigma`."""
    return _radius(content, abs(offset) / sigma) * sigma if sigma > 0 else abs(offset)


def settings_for_extremes(content: float, confidence: float, *, two_sided: bool = True) -> int:
    """Fewest settings whose smallest to largest holds `content`, whatever their distribution.

    One-sided: fewest whose largest has `content` below it.  93 and 59 at 95 %/95 %.
    Source: ISO 16269-6:2014 annex G (from memory); Wilks (1941), from memory.
    """
    _check(content, confidence, 1, 1)
    left_out = 2 if two_sided else 1
    return fewest(lambda n: binomial_cdf(n - left_out, n, content) >= confidence, least=left_out)


def proportion_interval(inside: int, n: int, confidence: float) -> Interval:
    """Where the true share inside may lie when `inside` of `n` were (Clopper and Pearson, exact).

    Each end has half of 1 - confidence beyond it.  Source: e-Handbook 7.2.4.1.
    """
    if not 0 <= inside <= n or n < 1:
        raise ValueError(f"{inside} of {n} settings inside: a count from 0 to n is needed")
    tail = (1 - confidence) / 2
    low = beta_quantile(tail, inside, n - inside + 1) if inside else 0.0
    high = beta_quantile(1 - tail, inside + 1, n - inside) if inside < n else 1.0
    return Interval(low=low, high=high, confidence=confidence)


def _radius(content: float, offset: float) -> float:
    """The r for which offset ± r holds `content` of a standard normal, by Newton's rule."""
    r = offset + normal_quantile(content) if offset > 1 else normal_quantile((1 + content) / 2)
    for _ in range(60):
        missing = content - (normal_cdf(offset + r) - normal_cdf(offset - r))
        slope = _density(offset + r) + _density(offset - r)
        step = missing / max(slope, _TINY)
        r += min(max(step, -r / 2), 1.0)
        if abs(step) < 1e-14 * r:
            break
    return r


def _density(z: float) -> float:
    return math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def _check(content: float, confidence: float, n: float, df: float) -> None:
    if not (0 < content < 1 and 0 < confidence < 1):
        raise ValueError(f"content {content} and confidence {confidence} must lie inside (0, 1)")
    if not (n > 0 and df > 0):
        raise NotEnough(Reason(Why.NO_FREEDOM, n=n, df=df))
