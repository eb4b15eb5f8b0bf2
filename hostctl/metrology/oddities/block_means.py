"""Do blocks lie farther apart than the scatter within them explains.

For readings whose blocks should have one zero: where each is zeroed anew they differ by design.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import fsum
from statistics import fmean

from hostctl.metrology.basis.distributions import f_sf
from hostctl.metrology.basis.estimate import Readings, finite_sample
from hostctl.metrology.basis.significance import Significance

ALPHA = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class BlocksApart:
    """Block means that differ: the test, and the lowest and highest of the place with most."""

    test: Significance
    lowest: float
    highest: float


def blocks_apart(places: Iterable[Sequence[Readings]], *, resolution: float) -> BlocksApart | None:
    """Compare the blocks of each place by their means; None where chance at ALPHA explains them.

    places: readings by block, in one unit, none empty; `resolution` in the same. Rounding may have
    moved any mean by half a resolution, so two of a place have to lie more than one apart, and
    leaves a variance of h^2 / 12 within blocks at the least.
    Source: one-way analysis of variance, NIST/SEMATECH e-Handbook 7.4.3.
    """
    samples = [[finite_sample(block, least=1, what="a block") for block in one] for one in places]
    within = [square for place in samples for block in place for square in _squares(block)]
    between = [_between(place, resolution) for place in samples]
    df_within = len(within) - sum(map(len, samples))
    df_between = sum(len(place) - 1 for place in samples)
    if not df_within or not df_between:
        return None
    floor = resolution * resolution / 12.0
    ratio = fsum(between) / df_between / max(fsum(within) / df_within, floor)
    p_value = f_sf(ratio, df_between, df_within)
    if p_value > ALPHA:
        return None
    widest = samples[max(range(len(samples)), key=between.__getitem__)]
    means = list(map(fmean, widest))
    return BlocksApart(
        test=Significance(
            statistic=ratio,
            p_value=p_value,
            df=(df_between, df_within),
            n=len(within),
            how="F test of block means, rounding allowed for",
            source="ISO 3534-3:2013, analysis of variance",
        ),
        lowest=min(means),
        highest=max(means),
    )


def _squares(block: Sequence[float]) -> list[float]:
    mean = fmean(block)
    return [(value - mean) ** 2 for value in block]


def _between(place: Sequence[Sequence[float]], resolution: float) -> float:
    """The sum of squares between blocks, the means drawn together by what rounding may explain."""
    means = list(map(fmean, place))
    span = max(means) - min(means)
    if span <= resolution:
        return 0.0
    middle = fsum(map(fsum, place)) / sum(map(len, place))
    squares = fsum(
        len(block) * (mean - middle) ** 2 for block, mean in zip(place, means, strict=True)
    )
    return squares * (1.0 - resolution / span) ** 2
