"""Confidence boxes of very many studies at once, and what is composed of two of them.

The same sums as in `basis.confidence_box`, `spread.setting` and `comparison.spread_ratio`, with a
row a study. Each cell of the table holds some of its studies against those.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from hostctl.metrology.basis.confidence_box import MESH, WEIGHTS
from hostctl.metrology.rounded.evidence import FINEST
from hostctl.metrology.rounded.law.many_tails import ManyStudies
from promised.studies import Graduations, Shape

Floats = NDArray[np.float64]

_FARTHEST_PLACE = 4.75  # beyond the last quantile of a box
_LEAST = 1e-12
_Z = np.array(MESH)


@dataclass(frozen=True, slots=True)
class ManyBoxes:
    """A row a study: upper limits, and lower ones, at MESH; of a setting, in graduations."""

    upper: Floats
    lower: Floats


def boxes_of(shape: Shape, read: Graduations) -> ManyBoxes:
    """Of each study."""
    many = shape.many(read)
    logs, narrow, wide = _walked(many, shape, read)
    upper = np.minimum.accumulate(-_places(narrow)[::-1], axis=0)[::-1]
    lower = np.maximum.accumulate(_places(wide), axis=0)
    at_most = [
        np.interp(_Z, upper[:, i], logs, left=logs[0], right=np.inf) for i in range(len(read))
    ]
    at_least = [
        np.interp(_Z, lower[:, i], logs, left=-np.inf, right=logs[-1]) for i in range(len(read))
    ]
    return ManyBoxes(
        upper=np.exp(np.array(at_most)) / shape.of_value,
        lower=np.exp(np.array(at_least)) / shape.of_value,
    )


def _walked(many: ManyStudies, shape: Shape, read: Graduations) -> tuple[Floats, Floats, Floats]:
    """Tails on a mesh of log sigma of a value that leaves nothing of any box out."""
    squares = ((read - read.mean(axis=2, keepdims=True)) ** 2).sum(axis=(1, 2))
    variance = float(np.median(squares)) / (shape.freedom.scale * shape.freedom.df) - 1.0 / 12.0
    start = 0.5 * math.log(max(variance, 0.04))
    step = min(max(0.35 / math.sqrt(2.0 * shape.freedom.df), 0.02), 0.25)
    found = {start: many.tails(math.exp(start))}
    x, end = start, math.log(1e7)
    while x < end and _places(found[x][0]).max() > -_FARTHEST_PLACE:
        x = min(x + step, end)
        found[x] = many.tails(math.exp(x))
    x, end = start, math.log(FINEST)
    while x > end and _places(found[x][1]).max() > -_FARTHEST_PLACE:
        x = max(x - step, end)
        found[x] = many.tails(math.exp(x))
    logs = sorted(found)
    return (
        np.array(logs),
        np.array([found[log][0] for log in logs]),
        np.array([found[log][1] for log in logs]),
    )


def _places(chances: Floats) -> Floats:
    return np.asarray(ndtri(np.clip(chances, _LEAST, 1.0 - _LEAST)))


def _above(quantiles: Floats, x: Floats) -> Floats:
    """For each study the chance of a value above each of its x: 1 - `Quantiles.below`, of logs."""
    with np.errstate(divide="ignore", invalid="ignore"):
        flat, known = np.log(x.reshape(len(x), -1)), np.log(quantiles)
        places = [np.interp(row, values, _Z) for row, values in zip(flat, known, strict=True)]
        chance = np.asarray(ndtr(-np.array(places)))
    chance[flat < known[:, :1]] = 1.0
    chance[flat >= known[:, -1:]] = 0.0
    return chance.reshape(x.shape)


def setting_is_above(total: ManyBoxes, rig: ManyBoxes, sigma: float) -> Floats:
    """As `spread.setting` has it, of each study."""
    return _setting_above(total.upper, rig.lower, sigma)


def setting_is_below(total: ManyBoxes, rig: ManyBoxes, sigma: float) -> Floats:
    """As `spread.setting` has it, of each study."""
    return 1.0 - _setting_above(total.lower, rig.upper, sigma)


def _setting_above(both: Floats, rig: Floats, sigma: float) -> Floats:
    return np.asarray(_above(both, np.hypot(rig, sigma)) @ np.array(WEIGHTS))


def ratio_is_above(
    first: ManyBoxes, second: ManyBoxes, rig: ManyBoxes | None, ratio: float
) -> Floats:
    """The chance of a larger ratio, that decides the upper end of its interval."""
    return _ratio_above(first.upper, second.lower, rig, ratio, upper=True)


def ratio_is_below(
    first: ManyBoxes, second: ManyBoxes, rig: ManyBoxes | None, ratio: float
) -> Floats:
    """The chance of a smaller one, that decides the lower end."""
    return 1.0 - _ratio_above(first.lower, second.upper, rig, ratio, upper=False)


def _ratio_above(
    first: Floats, second: Floats, rig: ManyBoxes | None, ratio: float, *, upper: bool
) -> Floats:
    second, weights = second[:, ::2, None], np.array(WEIGHTS[::2])
    if rig is None or ratio == 1.0:
        rigs, shares = np.zeros((len(first), 1, 1)), np.ones(1)
    else:
        of_rig = rig.upper if (ratio > 1.0) == upper else rig.lower
        rigs, shares = of_rig[:, None, ::3], np.array(WEIGHTS[::3])
    least = _least(ratio, second, rigs, upper=upper)
    chances = _above(first, least)
    return np.asarray(
        np.einsum("iab,a,b->i", chances, weights / weights.sum(), shares / shares.sum())
    )


def _least(ratio: float, second: Floats, rig: Floats, *, upper: bool) -> Floats:
    """The first total at which the settings' ratio is as large as this."""
    if ratio == 1.0:
        return np.broadcast_arrays(second, rig)[0]
    inside = (second > rig) & np.isfinite(second)
    with np.errstate(invalid="ignore"):
        clear = np.sqrt(rig * rig + ratio * ratio * (second - rig) * (second + rig))
    hidden = (second if upper else rig) if ratio > 1.0 else (0.0 * rig if upper else second)
    least = np.where(inside, clear, hidden)
    return np.where(np.isinf(second) | np.isinf(rig), second, least)
