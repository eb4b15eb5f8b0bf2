"""The bed: a plate carried by three or four screws, with a warp of its own, moved by its heat."""

from dataclasses import dataclass
from math import cos, pi
from typing import Literal

from hostctl_simulators.chance import stream
from hostctl_simulators.physical.heater import AMBIENT_C

Direction = Literal["clockwise", "anticlockwise"]  # seen from above


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewKind:
    """A screw under the bed; clockwise raises the bed there."""

    name: str
    x_mm: float
    y_mm: float
    pitch_mm: float = 0.7  # M4 coarse, ISO 261


@dataclass(frozen=True, slots=True, kw_only=True)
class BedKind:
    """A plate on its screws. Three screws carry a plane; four stand on the corners of a rectangle,
    given as front left, front right, back left, back right, and can twist the plate."""

    screws: tuple[ScrewKind, ...]
    bow_mm: float  # how much higher the middle is than the corners, on average over beds
    drift_mm_per_c: float  # the surface moves with the soaked temperature


class Bed:
    """Where the surface is, mm above the machine's z = 0."""

    def __init__(self, kind: BedKind, seed: int) -> None:
        chance = stream(seed, "bed")
        self.kind = kind
        # Below z = 0 as delivered: a first lowering to z = 0 must not meet the bed.
        self.heights_mm = {screw.name: chance.uniform(-0.35, -0.10) for screw in kind.screws}
        self.bow_mm = kind.bow_mm * chance.uniform(0.5, 1.5)
        self.soaked_c = AMBIENT_C

    def screw(self, name: str) -> ScrewKind:
        """The screw called `name`. Raises KeyError when there is none."""
        for screw in self.kind.screws:
            if screw.name == name:
                return screw
        raise KeyError(name)

    def turn(self, name: str, degrees: float, direction: Direction) -> None:
        """Turn one screw."""
        rise_mm = self.screw(name).pitch_mm * degrees / 360
        self.heights_mm[name] += rise_mm if direction == "clockwise" else -rise_mm

    def height_mm(self, x_mm: float, y_mm: float) -> float:
        """The surface at one place, as the screws, the warp and the heat have it now."""
        carried_mm = sum(
            share * self.heights_mm[name] for name, share in self.shares(x_mm, y_mm).items()
        )
        drift_mm = self.kind.drift_mm_per_c * (self.soaked_c - AMBIENT_C)
        return carried_mm + self._warp_mm(x_mm, y_mm) + drift_mm

    def shares(self, x_mm: float, y_mm: float) -> dict[str, float]:
        """How much each screw moves the surface at one place; 1 right above a screw."""
        screws = self.kind.screws
        if len(screws) == 3:
            return _shares_of_three(screws, x_mm, y_mm)
        front_left, back_right = screws[0], screws[3]
        u = (x_mm - front_left.x_mm) / (back_right.x_mm - front_left.x_mm)
        v = (y_mm - front_left.y_mm) / (back_right.y_mm - front_left.y_mm)
        shares = ((1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v)
        return {screw.name: share for screw, share in zip(screws, shares, strict=True)}

    def _warp_mm(self, x_mm: float, y_mm: float) -> float:
        xs = [screw.x_mm for screw in self.kind.screws]
        ys = [screw.y_mm for screw in self.kind.screws]
        u = (2 * x_mm - min(xs) - max(xs)) / (max(xs) - min(xs))
        v = (2 * y_mm - min(ys) - max(ys)) / (max(ys) - min(ys))
        return self.bow_mm * cos(pi * min(abs(u), 1) / 2) * cos(pi * min(abs(v), 1) / 2)


def _shares_of_three(screws: tuple[ScrewKind, ...], x_mm: float, y_mm: float) -> dict[str, float]:
    """Barycentric weights in the triangle of three screws."""
    a, b, c = screws
    whole = (b.y_mm - c.y_mm) * (a.x_mm - c.x_mm) + (c.x_mm - b.x_mm) * (a.y_mm - c.y_mm)
    of_a = ((b.y_mm - c.y_mm) * (x_mm - c.x_mm) + (c.x_mm - b.x_mm) * (y_mm - c.y_mm)) / whole
    of_b = ((c.y_mm - a.y_mm) * (x_mm - c.x_mm) + (a.x_mm - c.x_mm) * (y_mm - c.y_mm)) / whole
    return {a.name: of_a, b.name: of_b, c.name: 1 - of_a - of_b}
