"""From a plane to how far each screw is to be turned.

All raises lie on one plane, so that on four or more screws none of them twists the plate: a stiff
plate and a soft one end the same.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hostctl.metrology.geometry.bed import checked_points
from hostctl.metrology.levelling.heights import Heights
from hostctl.metrology.levelling.plane import LevelPlane, Part, Quantity, Tilt, plane_of

Floats: TypeAlias = NDArray[np.float64]
Keep: TypeAlias = Literal["mean"] | tuple[float, float]
"""What stays as high as it is: the mean height of the measured points, or a place (x, y) in mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Screw:
    """A bed screw: where it is, how far one turn moves the bed, and how much travel is left."""

    name: str
    x_mm: float
    y_mm: float
    pitch_mm: float
    can_raise_mm: float = math.inf
    can_lower_mm: float = math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Turning:
    """How well people turn, as standard uncertainties. Common practice, no source.

    relative_u: share of the turn by which all turns of a person are off alike, and as much again
    each turn by itself. angle_u_deg: reading the angle. play_mm: play of the thread, all of which
    may be lost in a turn (taken as a half width, JCGM 100:2008 4.3.7).
    """

    relative_u: float = 0.05
    angle_u_deg: float = 3.0
    play_mm: float = 0.01

    def covariance(self, raises: Floats, pitches: Floats) -> Floats:
        """Of how far the screws move the bed beside these raises, in mm²."""
        turned = np.abs(raises) > 0.0
        by_angle = (self.angle_u_deg / 360.0 * pitches) ** 2
        alone = (self.relative_u * raises) ** 2 + turned * (by_angle + self.play_mm**2 / 3.0)
        return np.asarray(self.relative_u**2 * np.outer(raises, raises) + np.diag(alone))


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """What one screw is to do. Positive raises the bed there.

    u_mm, df, low_mm, high_mm: of it by measuring alone, with its degrees of freedom and its 95 %
    interval. turn_deg: 360 raise_mm / pitch; u_deg is u_mm alike, half_deg half of the interval.
    turning_u_mm: what turning adds.
    """

    screw: Screw
    raise_mm: float
    u_mm: float
    df: float
    low_mm: float
    high_mm: float
    turn_deg: float
    u_deg: float
    half_deg: float
    turning_u_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Advice:
    """The turns of one round.

    whole: they level the bed at once; otherwise they were made smaller together. reachable: the
    screws' travel lets the bed be levelled. shift_mm: how much higher than wanted the bed ends up,
    because travel didn't allow the height that was wanted.
    share: of the tilt that they take away.
    left: the tilt after turning, with what measuring and turning add. error_mm: what these two
    can come to by themselves, 95 %: no turn can be trusted to leave less.
    """

    turns: tuple[Turn, ...]
    plane: LevelPlane
    turning: Turning
    whole: bool
    reachable: bool
    shift_mm: float
    share: float
    left: Tilt
    error_mm: float

    @property
    def raises_mm(self) -> Floats:
        """Of the screws in their order."""
        return np.array([turn.raise_mm for turn in self.turns])


def advise(
    heights: Heights,
    screws: Sequence[Screw],
    *,
    keep: Keep = "mean",
    raise_mm: float = 0.0,
    undo_mm: ArrayLike = 0.0,
    largest_mm: float = math.inf,
    turning: Turning | None = None,
) -> Advice:
    """How far each screw is to raise the bed so that its plane is level.

    raise_mm: the whole bed up by so much besides. undo_mm: and each screw by so much, to undo what
    strains the plate. largest_mm: no raise or lowering beyond it; all are scaled down together, so
    that they still lie on a plane.
    Two screws and a corner that is fixed: `with_fixed_corner`, the same place as `keep`.
    Raises NotEnough for fewer than three screws, or screws on one line.
    """
    hands = turning or Turning()
    xs, ys = checked_screws(screws)
    plane = plane_of(heights)
    at_screws = plane.arms(xs, ys)
    kept = np.array([1.0, 0.0, 0.0]) if keep == "mean" else plane.arms(*keep)[0]
    full = [plane.told(kept - arm) for arm in at_screws]
    wanted = np.array([one.value for one in full]) + raise_mm + np.asarray(undo_mm)
    raises, reach, shift = within_travel(wanted, screws)
    most = float(np.abs(raises).max())
    part = min(1.0, largest_mm / most) if most > 0.0 else 1.0
    raises, share = raises * part, reach * part
    by_turning = hands.covariance(raises, np.array([one.pitch_mm for one in screws]))
    error = _slopes_by_screws(at_screws, by_turning)
    x = np.append(heights.x_mm, xs)
    y = np.append(heights.y_mm, ys)
    parts = (*plane.parts, (error, math.inf))
    return Advice(
        turns=tuple(map(_turn, screws, raises.tolist(), full, np.diag(by_turning).tolist())),
        plane=plane,
        turning=hands,
        whole=share == 1.0,
        reachable=reach == 1.0,
        shift_mm=shift,
        share=share,
        left=_after(plane, 1.0 - share, parts).tilt(x, y),
        error_mm=_after(plane, 0.0, parts).tilt(x, y).high_mm,
    )


def with_fixed_corner(screws: Sequence[Screw], keep: Keep, name: str = "") -> list[Screw]:
    """The screws; where there are two, the place that is kept carries the plate with them.

    It is as a screw without travel, the last of them.
    """
    if len(screws) != 2 or keep == "mean":
        return list(screws)
    x_mm, y_mm = keep
    fixed = Screw(name=name, x_mm=x_mm, y_mm=y_mm, pitch_mm=1.0, can_raise_mm=0.0, can_lower_mm=0.0)
    return [*screws, fixed]


def within_travel(wanted: Floats, screws: Sequence[Screw]) -> tuple[Floats, float, float]:
    """Raises that every screw can do, the share of the tilt they take away, and the height's shift.

    Another height first, where one lets all screws reach; a share of the tilt where none does.
    """
    up = np.array([one.can_raise_mm for one in screws])
    down = np.array([one.can_lower_mm for one in screws])
    apart = wanted[:, None] - wanted[None, :]
    room = up[:, None] + down[None, :]
    with np.errstate(divide="ignore", invalid="ignore"):
        shares = np.where(apart > 0.0, room / np.where(apart > 0.0, apart, 1.0), np.inf)
    share = min(1.0, float(shares.min()))
    level = float(wanted.mean())
    raises = level + share * (wanted - level)
    shift = float(np.clip(0.0, (-down - raises).max(), (up - raises).min()))
    return np.clip(raises + shift, -down, up), share, shift


def checked_screws(screws: Sequence[Screw]) -> tuple[Floats, Floats]:
    """Where the screws are. Raises NotEnough where they hold no plane."""
    xs, ys, _ = checked_points(
        [one.x_mm for one in screws], [one.y_mm for one in screws], [0.0] * len(screws)
    )
    return xs, ys


def _turn(screw: Screw, raise_mm: float, full: Quantity, turning_variance: float) -> Turn:
    half = full.half()
    return Turn(
        screw=screw,
        raise_mm=raise_mm,
        u_mm=full.u,
        df=full.df,
        low_mm=raise_mm - half,
        high_mm=raise_mm + half,
        turn_deg=360.0 * raise_mm / screw.pitch_mm,
        u_deg=360.0 * full.u / screw.pitch_mm,
        half_deg=360.0 * half / screw.pitch_mm,
        turning_u_mm=math.sqrt(turning_variance),
    )


def _slopes_by_screws(at_screws: Floats, covariance: Floats) -> Floats:
    """Covariance of the plane of a stiff plate on screws that are off by so much."""
    by_screws = np.linalg.pinv(at_screws)
    return np.asarray(by_screws @ covariance @ by_screws.T)


def _after(plane: LevelPlane, share: float, parts: tuple[Part, ...]) -> LevelPlane:
    """The plane with so much of its slopes left, and doubts of its own."""
    return LevelPlane(
        middle_x=plane.middle_x,
        middle_y=plane.middle_y,
        middle_height=plane.middle_height,
        slope_x=share * plane.slope_x,
        slope_y=share * plane.slope_y,
        parts=parts,
    )
