"""The sums behind a levelling's result: plane, tilt, and what no screw can mend."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hostctl.metrology.basis.distributions import student_t_quantile
from hostctl.metrology.geometry.bed import HeightSpread, Plane, fit_plane, fit_shape
from hostctl.metrology.geometry.flatness import least_squares_flatness, minimum_zone
from hostctl.report.kinds.levelling.result import PlaneFound, TiltFound, WarpFound

CONFIDENCE = 0.95
_MM_PER_M = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """Points of a bed in mm. spread: of one height, known from readings of the same point again;
    None: only by how far heights lie off the plane."""

    points: tuple[str, ...]
    x_mm: tuple[float, ...]
    y_mm: tuple[float, ...]
    z_mm: tuple[float, ...]
    spread: HeightSpread | None

    def plane(self) -> Plane:
        """Through them. Raises NotEnough."""
        return fit_plane(self.x_mm, self.y_mm, self.z_mm, height_spread=self.spread)


def spread_of(again: Sequence[Sequence[float]], resolution_mm: float | None) -> HeightSpread | None:
    """Of a point's mean, of readings of each point; None where no point was read twice.

    Pooled over the points (JCGM 100:2008, H.3.6 for the pooling; from memory); rounding, which no
    mean takes out, adds its h/sqrt(12) (JCGM 100:2008, F.2.2.1). Its degrees of freedom by the
    Welch-Satterthwaite formula (G.2b).
    """
    spare = [(len(one) - 1, float(np.var(one, ddof=1))) for one in again if len(one) > 1]
    if not spare:
        return None
    df = sum(freedom for freedom, _ in spare)
    pooled = sum(freedom * variance for freedom, variance in spare) / df
    each = len(again) / sum(1 / len(one) for one in again)  # readings a point: the harmonic mean
    repeated = pooled / each
    rounded = (resolution_mm or 0.0) ** 2 / 12
    if repeated == 0.0:
        return HeightSpread(sd=math.sqrt(rounded))
    total = repeated + rounded
    return HeightSpread(sd=math.sqrt(total), df=df * (total / repeated) ** 2)


def plane_found(plane: Plane) -> PlaneFound:
    """The same as a result."""
    known = plane.df > 0
    u = np.sqrt(np.diag(plane.covariance)) * _MM_PER_M
    return PlaneFound(
        middle_x_mm=plane.middle_x,
        middle_y_mm=plane.middle_y,
        middle_height_mm=plane.middle_height,
        slope_x_mm_per_m=plane.slope_x * _MM_PER_M,
        slope_y_mm_per_m=plane.slope_y * _MM_PER_M,
        u_slope_x_mm_per_m=float(u[1]) if known else None,
        u_slope_y_mm_per_m=float(u[2]) if known else None,
        covariance=tuple(map(tuple, plane.covariance.tolist())) if known else None,
        sd_mm=plane.sd if known else None,
        df=plane.df,
    )


def tilt_of(heights: Heights, plane: Plane) -> TiltFound:
    """The plane's highest less its lowest over the points, with the interval of that difference."""
    x_mm, y_mm = np.array(heights.x_mm), np.array(heights.y_mm)
    on_plane = plane.slope_x * x_mm + plane.slope_y * y_mm
    high, low = int(on_plane.argmax()), int(on_plane.argmin())
    value_mm = float(on_plane[high] - on_plane[low])
    if plane.df == 0:
        return TiltFound(value_mm=value_mm, low_mm=None, high_mm=None)
    arm = np.array([0.0, x_mm[high] - x_mm[low], y_mm[high] - y_mm[low]])
    half = _quantile(plane.df) * math.sqrt(float(arm @ plane.covariance @ arm))
    return TiltFound(value_mm=value_mm, low_mm=max(value_mm - half, 0.0), high_mm=value_mm + half)


def warp_of(heights: Heights) -> WarpFound:
    """What is left off the plane. Raises NotEnough."""
    places = heights.x_mm, heights.y_mm, heights.z_mm
    shape = fit_shape(*places, height_spread=heights.spread, confidence=CONFIDENCE)
    zone = minimum_zone(*places)
    return WarpFound(
        twist=shape.twist,
        bow_x=shape.bow_x,
        bow_y=shape.bow_y,
        bow=shape.bow,
        minimum_zone_mm=zone.width,
        between=tuple(heights.points[at] for at in zone.touching),
        least_squares_mm=least_squares_flatness(*places).peak_to_valley,
    )


def _quantile(df: float) -> float:
    return student_t_quantile((1 + CONFIDENCE) / 2, df)
