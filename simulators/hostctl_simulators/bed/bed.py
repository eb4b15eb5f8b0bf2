"""The bed: a plate on its screws, with a warp of its own, moved by its heat."""

from dataclasses import dataclass
from math import cos, pi, sin

from hostctl_simulators.bed.heater import AMBIENT_C
from hostctl_simulators.bed.plate import shares_of
from hostctl_simulators.bed.screws import Direction, Screw, ScrewKind
from hostctl_simulators.chance import stream


@dataclass(frozen=True, slots=True, kw_only=True)
class BedKind:
    """A plate on its screws. Three carry a plane; four stand on the corners of a rectangle, given
    as front left, front right, back left, back right, and can twist a plate that is not stiff."""

    screws: tuple[ScrewKind, ...]
    bow_mm: float  # how much higher the middle is than the corners, on average over beds
    drift_mm_per_c: float  # the surface moves with the soaked temperature
    more_bow_mm: float = 0.0  # besides
    twist_mm: float = 0.0  # of the plate itself: two opposite corners are so much higher
    tilt_mm: float = 0.0  # delivered with its highest screw so much above its lowest; 0: as it came
    tilted_about_mm: float = -0.2  # the mean height of its screws then
    stiff: bool = False  # whether it yields to its springs rather than to its screws


class Bed:
    """Where the surface is, mm above the machine's z = 0."""

    def __init__(self, kind: BedKind, seed: int) -> None:
        chance = stream(seed, "bed")
        self.kind = kind
        # Below z = 0 as delivered: a first lowering to z = 0 must not meet the bed.
        delivered_mm = {screw.name: chance.uniform(-0.35, -0.10) for screw in kind.screws}
        self.bow_mm = kind.bow_mm * chance.uniform(0.5, 1.5) + kind.more_bow_mm
        if kind.tilt_mm > 0:
            delivered_mm = _tilted(kind, seed)
        self.screws = {each.name: Screw(each, delivered_mm[each.name]) for each in kind.screws}
        self.soaked_c = AMBIENT_C
        self._shares = shares_of(kind.screws, stiff=kind.stiff)

    @property
    def heights_mm(self) -> dict[str, float]:
        """What each screw was turned to."""
        return {name: screw.height_mm for name, screw in self.screws.items()}

    def turn(self, name: str, degrees: float, direction: Direction) -> None:
        """Turn one screw. Raises KeyError when there is none of this name."""
        self.screws[name].turn(degrees, direction)

    def height_mm(self, x_mm: float, y_mm: float) -> float:
        """The surface at one place, as the screws, the warp and the heat have it now."""
        carried_mm = sum(
            share * self.screws[name].height_mm for name, share in self.shares(x_mm, y_mm).items()
        )
        drift_mm = self.kind.drift_mm_per_c * (self.soaked_c - AMBIENT_C)
        return carried_mm + self._warp_mm(x_mm, y_mm) + drift_mm

    def shares(self, x_mm: float, y_mm: float) -> dict[str, float]:
        """How much each screw moves the surface at one place."""
        return dict(zip(self.screws, self._shares(x_mm, y_mm), strict=True))

    def _warp_mm(self, x_mm: float, y_mm: float) -> float:
        xs = [screw.x_mm for screw in self.kind.screws]
        ys = [screw.y_mm for screw in self.kind.screws]
        u = (2 * x_mm - min(xs) - max(xs)) / (max(xs) - min(xs))
        v = (2 * y_mm - min(ys) - max(ys)) / (max(ys) - min(ys))
        bow_mm = self.bow_mm * cos(pi * min(abs(u), 1) / 2) * cos(pi * min(abs(v), 1) / 2)
        return bow_mm + self.kind.twist_mm / 2 * u * v


def _tilted(kind: BedKind, seed: int) -> dict[str, float]:
    """A plane over the screws that falls in some direction."""
    towards = stream(seed, "tilt").uniform(0, 2 * pi)
    along = {s.name: s.x_mm * cos(towards) + s.y_mm * sin(towards) for s in kind.screws}
    slope = kind.tilt_mm / (max(along.values()) - min(along.values()))
    middle = sum(along.values()) / len(along)
    return {name: kind.tilted_about_mm + slope * (at - middle) for name, at in along.items()}
