"""The readings of one round of passes as heights of the points, each with its uncertainty.

reading = sign (height + offset + drift * order + scatter), rounded to the resolution. The offset
of one homing is in every reading alike and says nothing of the tilt. Passes go to and fro, so that
a steady drift is in every point's mean alike; it is fitted besides, for the scatter to be free of
it. Rounding is taken to be one error a point that repeating doesn't average out (JCGM 100:2008
F.2.2.1 for its h / sqrt(12)); the scatter of one reading is never taken for less than that, since
repeats that are alike don't show it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hostctl.metrology.basis.distributions import student_t_quantile
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.geometry.bed import HeightSpread, checked_points

Floats: TypeAlias = NDArray[np.float64]

_FALSE_JUMPS = 0.01  # in so many rounds of sound readings one is found


@dataclass(frozen=True, slots=True, kw_only=True)
class Jump:
    """Readings of a round that disagree beyond chance.

    after: number of readings in order before the first that disagrees. size_mm: by how much, up
    positive. lasting: whether all later readings disagree with it (a knock) or that one alone,
    where of two repeats it can't be told which is wrong.
    """

    after: int
    size_mm: float
    lasting: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heights:
    """Heights of the points of one round, in mm, up positive; only their differences mean much.

    unscaled: covariance of the heights for readings that scatter with unit variance.
    scatter: standard deviation of one reading, and its degrees of freedom.
    drift_mm, drift_u_mm: how far readings drifted from first to last, steadily; 0 where not told.
    closing_mm: last reading of the first point less its first reading, up positive; None without.
    jump: the clearest disagreement, None if none is beyond chance.
    """

    names: tuple[str, ...]
    x_mm: Floats
    y_mm: Floats
    height_mm: Floats
    unscaled: Floats
    scatter: HeightSpread
    resolution_mm: float
    drift_mm: float
    drift_u_mm: float
    closing_mm: float | None
    jump: Jump | None

    @property
    def rounding_u_mm(self) -> float:
        """Standard uncertainty of a height by its rounding, however often it was read."""
        return self.resolution_mm / math.sqrt(12.0)

    @property
    def covariance(self) -> Floats:
        """Covariance matrix of the heights in mm², the common offset left out."""
        return self.scatter.sd**2 * self.unscaled + np.eye(len(self.names)) * self.rounding_u_mm**2

    @property
    def u_mm(self) -> Floats:
        """Standard uncertainty of each height."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    @property
    def df(self) -> Floats:
        """Degrees of freedom of each height's uncertainty (JCGM 100:2008 G.4, Welch-Satterthwaite).

        Infinite where all comes from rounding.
        """
        by_scatter = self.scatter.sd**2 * np.diag(self.unscaled)
        with np.errstate(divide="ignore", invalid="ignore"):
            shares = np.where(self.u_mm > 0, by_scatter / self.u_mm**2, 0.0)
            return np.asarray(np.where(shares > 0, self.scatter.df / shares**2, np.inf))


def heights_of(
    names: Sequence[str],
    x_mm: ArrayLike,
    y_mm: ArrayLike,
    passes: ArrayLike,
    *,
    closing: float | None = None,
    sign: int = 1,
    resolution_mm: float = 0.0,
    known: HeightSpread | None = None,
) -> Heights:
    """Heights from one round.

    passes: array (passes, points) of readings in mm in the order of `names`; the first pass was
    read in that order, the second the other way, and so on; NaN where nothing was read.
    closing: the first point, read once more at the end. sign: -1 where the number falls as the
    bed comes up. known: scatter of one reading from earlier rounds of this rig, pooled with this
    round's own.
    Raises NotEnough for points that hold no plane, a point never read, or where neither repeats
    nor `known` tell the scatter; ValueError where the shapes don't match.
    """
    table = sign * np.atleast_2d(np.asarray(passes, dtype=np.float64))
    if table.shape[1] != len(names):
        raise ValueError(f"{table.shape[1]} readings a pass don't fit {len(names)} points")
    last = math.nan if closing is None else sign * closing
    point, order, z = _in_order(table, last)
    for place in range(len(names)):
        if place not in point:
            raise NotEnough(Reason(Why.POINT_NOT_A_NUMBER, place=place + 1))
    fit = _Fit.of(point, order, z, len(names))
    xs, ys, _ = checked_points(x_mm, y_mm, fit.coefficients[: len(names)])
    sums = _pooled(fit.sum_of_squares, fit.df, known)
    scatter = HeightSpread(sd=max(sums.sd, resolution_mm / math.sqrt(12.0)), df=sums.df)
    reach = float(order[-1] - order[0])
    return Heights(
        names=tuple(names),
        x_mm=xs,
        y_mm=ys,
        height_mm=fit.coefficients[: len(names)],
        unscaled=fit.unscaled[: len(names), : len(names)],
        scatter=scatter,
        resolution_mm=resolution_mm,
        drift_mm=reach * fit.drift,
        drift_u_mm=reach * scatter.sd * math.sqrt(fit.drift_unscaled),
        closing_mm=None if math.isnan(last) else last - float(z[point == 0][0]),
        jump=_clearest_jump(fit, resolution_mm, known),
    )


@dataclass(frozen=True, slots=True)
class _Fit:
    """Least squares on points' heights and a steady drift (left out where it leaves no freedom)."""

    points: int
    design: Floats
    z: Floats
    unscaled: Floats
    coefficients: Floats
    residuals: Floats

    @classmethod
    def of(cls, point: NDArray[np.int64], order: Floats, z: Floats, points: int) -> "_Fit":
        columns: NDArray[np.floating] = np.eye(points)[point]
        if len(z) - points > 1:
            columns = np.column_stack([columns, order - order.mean()])
        unscaled: Floats = np.linalg.inv(columns.T @ columns)
        middle = float(z.mean())
        coefficients = unscaled @ columns.T @ (z - middle)
        residuals = z - middle - columns @ coefficients
        coefficients[:points] += middle
        return cls(points, columns.astype(np.float64), z, unscaled, coefficients, residuals)

    @property
    def df(self) -> int:
        return int(self.design.shape[0] - self.design.shape[1])

    @property
    def sum_of_squares(self) -> float:
        return float(self.residuals @ self.residuals)

    @property
    def drift(self) -> float:
        return float(self.coefficients[self.points]) if self._drifts else 0.0

    @property
    def drift_unscaled(self) -> float:
        return float(self.unscaled[-1, -1]) if self._drifts else 0.0

    @property
    def _drifts(self) -> bool:
        return bool(self.design.shape[1] > self.points)


def _in_order(table: Floats, last: float) -> tuple[NDArray[np.int64], Floats, Floats]:
    """Point, place in the order and height of each reading that there is."""
    passes, points = table.shape
    there = np.arange(points)
    point = np.concatenate([there if k % 2 == 0 else there[::-1] for k in range(passes)] + [[0]])
    row = np.append(np.repeat(np.arange(passes), points), 0)
    z = table[row, point]
    z[-1] = last
    order = np.arange(len(z), dtype=np.float64)
    found = np.isfinite(z)
    return point[found].astype(np.int64), order[found], z[found]


def _pooled(sum_of_squares: float, df: float, known: HeightSpread | None) -> HeightSpread:
    """The scatter on both; `known` as it is where its degrees of freedom are infinite."""
    if known is not None and math.isinf(known.df):
        return known
    more = known or HeightSpread(sd=0.0, df=0.0)
    if df + more.df <= 0:
        raise NotEnough(Reason(Why.NO_REPEATS))
    total = sum_of_squares + more.df * more.sd**2
    return HeightSpread(sd=math.sqrt(total / (df + more.df)), df=df + more.df)


def _clearest_jump(fit: _Fit, resolution_mm: float, known: HeightSpread | None) -> Jump | None:
    """A step, or one reading that stands out, by Student's t; the risk shared over the places."""
    if fit.df < 2:
        return None
    n = len(fit.z)
    steps = np.tril(np.ones((n, n)))[:, 1:]
    tried = np.column_stack([steps, np.eye(n)])
    hat = fit.design @ fit.unscaled @ fit.design.T
    apart = tried - hat @ tried
    lengths = np.sum(apart * apart, axis=0)
    can_tell = lengths > 1e-6
    sizes = np.where(can_tell, apart.T @ fit.residuals / np.where(can_tell, lengths, 1.0), 0.0)
    gains = sizes**2 * lengths
    best = int(np.argmax(gains))
    left = max(fit.sum_of_squares - float(gains[best]), 0.0)
    scatter = _pooled(left, fit.df - 1, known)
    sd = max(scatter.sd, resolution_mm / math.sqrt(12.0))
    limit = student_t_quantile(1.0 - _FALSE_JUMPS / 2.0 / int(can_tell.sum()), scatter.df)
    tiny = 1e-9 * max(float(np.abs(fit.z).max()), 1.0)
    if math.sqrt(gains[best]) <= max(limit * sd, tiny):
        return None
    lasting = best < n - 1
    return Jump(
        after=best + 1 if lasting else best - (n - 1), size_mm=float(sizes[best]), lasting=lasting
    )
