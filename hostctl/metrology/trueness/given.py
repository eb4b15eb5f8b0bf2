"""A tie that somebody states, and one that readings have who rest on several."""

from collections.abc import Sequence

from hostctl.metrology.basis.confidence_box import ConfidenceBox, Quantiles
from hostctl.metrology.trueness.constant import TieConstant, normal_error


def given_constant(u: float) -> TieConstant:
    """Readings that are gaps already, their zero known with this standard uncertainty, normal;
    0: exactly. Raises ValueError for one below 0."""
    if not u >= 0.0:
        raise ValueError(f"the standard uncertainty of a tie is {u}, must be 0 or more")
    return TieConstant(0.0, normal_error(u), 0)


def shared_error(parts: Sequence[tuple[TieConstant, float]]) -> TieConstant:
    """What a mean has of the ties that its readings rest on, each with its share of the mean.

    The shares add up to 1. How far ties depend on each other is not known, so their errors are
    taken to go the same way: quantile by quantile, which is the widest that they can add up to
    (JCGM 100:2008, 5.2.2, note 1: correlation 1; from memory).
    """
    merged: dict[TieConstant, float] = {}
    for constant, share in parts:
        merged[constant] = merged.get(constant, 0.0) + share
    if len(merged) == 1:
        return parts[0][0]
    shares = list(merged.items())
    return TieConstant(
        sum(constant.value * share for constant, share in shares),
        ConfidenceBox(
            upper=_added([(constant.box.upper, share) for constant, share in shares]),
            lower=_added([(constant.box.lower, share) for constant, share in shares]),
        ),
        sum(constant.n for constant, _ in shares),
    )


def _added(parts: Sequence[tuple[Quantiles, float]]) -> Quantiles:
    columns = zip(*(part.values for part, _ in parts), strict=True)
    shares = [share for _, share in parts]
    return Quantiles(
        tuple(sum(v * s for v, s in zip(column, shares, strict=True)) for column in columns)
    )
