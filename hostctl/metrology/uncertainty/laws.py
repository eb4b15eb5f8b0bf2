"""The laws that errors follow: the standard uncertainty each brings, and random draws from it."""

import math
from dataclasses import dataclass
from typing import TypeAlias, assert_never

import numpy as np
from numpy.typing import NDArray

Draws: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Normal:
    """A normal law."""

    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaledT:
    """Student's t on `df`, times `scale`: a mean of few readings (JCGM 101:2008 6.4.9)."""

    scale: float
    df: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Uniform:
    """Anywhere within ± half_width (JCGM 100:2008 4.3.7; JCGM 101:2008 6.4.2)."""

    half_width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Triangular:
    """Within ± half_width, the middle likeliest: a sum of two equal uniform errors."""

    half_width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Arcsine:
    """A cycle of amplitude `half_width` met at a random moment (JCGM 101:2008 6.4.6)."""

    half_width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InexactUniform:
    """Uniform, with a half-width itself doubtful by ± doubt (JCGM 101:2008 6.4.3)."""

    half_width: float
    doubt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CosineShortfall:
    """-length (1 - cos θ) less its mean, θ uniform within ± tilt_rad: a tilted stem."""

    length: float
    tilt_rad: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """Error of first x second, each uniform within ± its half-width of its own value."""

    first: float
    first_half_width: float
    second: float
    second_half_width: float


Law: TypeAlias = (
    Normal | ScaledT | Uniform | Triangular | Arcsine | InexactUniform | CosineShortfall | Product
)


def standard_uncertainty(law: Law) -> float:
    """The u that the law brings to a budget; a scaled t brings its scale (JCGM 100:2008 4.2.3)."""
    match law:
        case Normal(sd=u) | ScaledT(scale=u):
            return u
        case Uniform(half_width=a):
            return a / math.sqrt(3)
        case Triangular(half_width=a):
            return a / math.sqrt(6)
        case Arcsine(half_width=a):
            return a / math.sqrt(2)
        case InexactUniform(half_width=a, doubt=d):
            return math.sqrt(a * a / 3 + d * d / 9)
        case CosineShortfall(length=length, tilt_rad=a):
            return abs(length) * _cosine_sd(a)
        case Product():
            u1, u2 = law.first_half_width / math.sqrt(3), law.second_half_width / math.sqrt(3)
            return math.hypot(law.first * u2, law.second * u1, u1 * u2)
        case never:
            assert_never(never)


def draw(law: Law, rng: np.random.Generator, size: int) -> Draws:
    """`size` random errors under the law."""
    match law:
        case Normal(sd=sd):
            return rng.normal(0.0, sd, size)
        case ScaledT(scale=scale, df=df):
            return scale * (rng.normal(size=size) if math.isinf(df) else rng.standard_t(df, size))
        case Uniform(half_width=a):
            return rng.uniform(-a, a, size)
        case Triangular(half_width=a):
            return a * (rng.uniform(0, 1, size) - rng.uniform(0, 1, size))
        case Arcsine(half_width=a):
            return a * np.sin(rng.uniform(-math.pi, math.pi, size))
        case InexactUniform(half_width=a, doubt=d):
            return rng.uniform(a - d, a + d, size) * rng.uniform(-1, 1, size)
        case CosineShortfall(length=length, tilt_rad=a):
            return length * (np.cos(rng.uniform(-a, a, size)) - mean_cosine(a))
        case Product(first=x, first_half_width=a, second=y, second_half_width=b):
            return rng.uniform(x - a, x + a, size) * rng.uniform(y - b, y + b, size) - x * y
        case never:
            assert_never(never)


def mean_cosine(a: float) -> float:
    """Mean of cos θ for θ uniform within ± a."""
    return math.sin(a) / a if a else 1.0


def _cosine_sd(a: float) -> float:
    """Its standard deviation; by its series where the closed form would cancel."""
    if a < 0.02:
        return a * a * math.sqrt((1 - a * a / 7) / 45)
    return math.sqrt(0.5 + math.sin(2 * a) / (4 * a) - mean_cosine(a) ** 2)
