"""The sums behind a levelling's result: plane, tilt, and what no screw can mend."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hostctl.metrology.geometry.bed import HeightSpread, fit_plane, fit_shape
from hostctl.metrology.geometry.flatness import least_squares_flatness, minimum_zone
from hostctl.metrology.levelling.advice import Advice
from hostctl.metrology.levelling.heights import Heights
from hostctl.metrology.levelling.plane import LevelPlane, plane_of
from hostctl.metrology.levelling.standing import tilt_of
from hostctl.report.kinds.levelling.result import (
    HeightFound,
    PlaneFound,
    TiltFound,
    WarpFound,
)

_MM_PER_M = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Heights of a bed. repeated: whether some point was read again, so that their scatter is
    known from that; else it is how far they lie off their plane, or of three points nothing."""

    heights: Heights
    repeated: bool

    @property
    def has_doubt(self) -> bool:
        """Whether anything tells how heights scatter."""
        return self.repeated or len(self.heights.names) > 3

    @property
    def plane(self) -> LevelPlane:
        """Through them, every point weighing the same. Raises NotEnough."""
        return plane_of(self.heights)

    @property
    def spread(self) -> HeightSpread | None:
        """Of one height, where it is known from repeats: the root mean square of all."""
        if not self.repeated:
            return None
        variances = np.diag(self.heights.covariance)
        return HeightSpread(sd=math.sqrt(float(variances.mean())), df=float(self.heights.df.min()))


def measured_once_or_more(
    points: Sequence[str],
    x_mm: Sequence[float],
    y_mm: Sequence[float],
    again: Sequence[Sequence[float]],
    resolution_mm: float,
) -> Measured:
    """Of heights that somebody measured in whatever order; again: all heights of each point.

    Raises NotEnough for points that hold no plane.
    """
    z_mm = np.array([float(np.mean(one)) for one in again])
    counts = np.array([len(one) for one in again], dtype=np.float64)
    df = float(counts.sum() - len(again))
    squares = sum(float(np.sum((np.array(one) - np.mean(one)) ** 2)) for one in again)
    if df > 0:
        least = resolution_mm / math.sqrt(12.0)
        scatter = HeightSpread(sd=max(math.sqrt(squares / df), least), df=df)
    else:
        plane = fit_plane(x_mm, y_mm, z_mm)
        scatter = HeightSpread(sd=plane.sd, df=plane.df or math.inf)
    heights = Heights(
        names=tuple(points),
        x_mm=np.array(x_mm),
        y_mm=np.array(y_mm),
        height_mm=z_mm,
        unscaled=np.diag(1.0 / counts),
        scatter=scatter,
        resolution_mm=resolution_mm if df > 0 else 0.0,  # what lies off the plane has it in it
        drift_mm=0.0,
        drift_u_mm=0.0,
        closing_mm=None,
        jump=None,
    )
    return Measured(heights=heights, repeated=df > 0)


def heights_found(of: Measured) -> tuple[HeightFound, ...]:
    """Each point about the mean of all."""
    heights, plane = of.heights, of.plane
    middle = float(heights.height_mm.mean())
    on_plane = plane.arms(heights.x_mm, heights.y_mm) @ plane.coefficients
    rows = zip(heights.names, heights.x_mm, heights.y_mm, heights.height_mm, strict=True)
    return tuple(
        HeightFound(
            point=name,
            x_mm=float(x_mm),
            y_mm=float(y_mm),
            height_mm=float(z_mm) - middle,
            u_mm=float(u_mm) if of.has_doubt else None,
            off_plane_mm=float(z_mm - on),
        )
        for (name, x_mm, y_mm, z_mm), u_mm, on in zip(rows, heights.u_mm, on_plane, strict=True)
    )


def plane_found(of: Measured) -> PlaneFound:
    """The same as a result."""
    plane, known = of.plane, of.has_doubt
    u = np.sqrt(np.diag(plane.covariance)) * _MM_PER_M
    variances = np.diag(of.heights.covariance)
    return PlaneFound(
        middle_x_mm=plane.middle_x,
        middle_y_mm=plane.middle_y,
        middle_height_mm=plane.middle_height,
        slope_x_mm_per_m=plane.slope_x * _MM_PER_M,
        slope_y_mm_per_m=plane.slope_y * _MM_PER_M,
        u_slope_x_mm_per_m=float(u[1]) if known else None,
        u_slope_y_mm_per_m=float(u[2]) if known else None,
        covariance=tuple(map(tuple, plane.covariance.tolist())) if known else None,
        sd_mm=math.sqrt(float(variances.mean())) if known else None,
        df=float(of.heights.df.min()) if known else None,
    )


def tilt_found(of: Measured, advice: Advice | None) -> TiltFound:
    """The plane's highest less its lowest, over the points and the screws that are advised."""
    if advice is None:
        tilt = of.plane.tilt(of.heights.x_mm, of.heights.y_mm)
    else:
        tilt = tilt_of(of.heights, advice)
    known = of.has_doubt
    return TiltFound(
        value_mm=tilt.value_mm,
        low_mm=tilt.low_mm if known else None,
        high_mm=tilt.high_mm if known else None,
    )


def rig_of(of: Measured) -> float | None:
    """A tilt that is no larger is too little to tell from level: the limits of its slopes."""
    if not of.has_doubt:
        return None
    plane = of.plane
    none = LevelPlane(
        middle_x=plane.middle_x,
        middle_y=plane.middle_y,
        middle_height=plane.middle_height,
        slope_x=0.0,
        slope_y=0.0,
        parts=plane.parts,
    )
    return none.tilt(of.heights.x_mm, of.heights.y_mm).high_mm


def warp_of(of: Measured) -> WarpFound:
    """What is left off the plane. Raises NotEnough."""
    places = of.heights.x_mm, of.heights.y_mm, of.heights.height_mm
    shape = fit_shape(*places, height_spread=of.spread)
    zone = minimum_zone(*places)
    return WarpFound(
        twist=shape.twist,
        bow_x=shape.bow_x,
        bow_y=shape.bow_y,
        bow=shape.bow,
        minimum_zone_mm=_told(zone.width),
        between=tuple(of.heights.names[at] for at in zone.touching),
        least_squares_mm=_told(least_squares_flatness(*places).peak_to_valley),
    )


def _told(width_mm: float) -> float:
    """To a picometre: what is less is the arithmetic's own."""
    return round(width_mm, 9)
