"""The two ends of the head, nozzle and plunger, and how they meet what is under them."""

from math import inf

from hostctl_simulators.physical.guides import Guides
from hostctl_simulators.physical.indicator import Indicator
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.surface import Surface


class Tips:
    """Nozzle and plunger of one head. `at` is where the motors took it."""

    def __init__(self, surface: Surface, indicator: Indicator | None, guides: Guides) -> None:
        self.return_error_mm = 0.0  # of this descent: how much higher the head came to rest
        self.rising = False  # its last move was upward
        self.nozzle_longer_mm = 0.0  # than the nozzle it was delivered with
        self.block_mm = 0.0  # a gauge block, wherever the plunger is
        self._surface = surface
        self._indicator = indicator
        self._guides = guides

    def gap_mm(self, at: Spot) -> float:
        """Between nozzle and what lies under it; negative: pressed together."""
        return self._nozzle_z_mm(at) - self._under_nozzle_mm(at)

    def depth_mm(self, at: Spot) -> float:
        """How deep the nozzle is in bed or plate; negative: clear of it."""
        if not self._surface.is_bed(at.x_mm, at.y_mm):
            return -inf
        return self._under_nozzle_mm(at) - self._nozzle_z_mm(at)

    def pressed_mm(self, at: Spot) -> float:
        """How far the plunger is pushed in; 0 where it hangs free or none is fitted."""
        return self._plunger(at, self._pushed_by_nozzle_mm(at))[0]

    def tie_constant_mm(
        self, point: tuple[float, float], *, set_z_mm: float, reading_z_mm: float
    ) -> float:
        """Gap of a setting plus what the plunger then shows pressed in, on average over its play.

        Raises LookupError where no indicator is fitted.
        """
        if self._indicator is None:
            raise LookupError("without an indicator there is no tie")
        kind = self._indicator.kind
        plunger = point[0] + kind.offset_x_mm, point[1] + kind.offset_y_mm
        at_setting_mm = self._gives_mm_per_n(point, plunger)
        at_reading_mm = self._surface.gives_mm_per_n(point, point)
        sunk_mm = (at_setting_mm - at_reading_mm) * kind.force_n
        heights_mm = set_z_mm - self.nozzle_longer_mm - (reading_z_mm - self._indicator.hangs_mm)
        heights_mm += self._guides.error_mm(_over(point, set_z_mm))
        beside = point[0] - kind.offset_x_mm, point[1] - kind.offset_y_mm
        heights_mm -= self._guides.error_mm(_over(beside, reading_z_mm))
        return heights_mm + sunk_mm + self._indicator.sign * self._indicator.free_mm

    def _nozzle_z_mm(self, at: Spot) -> float:
        """Where the nozzle's end really is."""
        return self._head_z_mm(at) - self.nozzle_longer_mm

    def _head_z_mm(self, at: Spot) -> float:
        """Where the head really is."""
        error_mm = self._guides.error_mm(at, rising=self.rising)
        return at.z_mm + self.return_error_mm + error_mm

    def _under_nozzle_mm(self, at: Spot) -> float:
        """The height of what lies under the nozzle, pushed down by the plunger's force."""
        here = at.x_mm, at.y_mm
        height_mm = self._surface.height_mm(*here)
        if self._surface.rigid:
            return height_mm
        _, force_n = self._plunger(at, 0.0)
        return height_mm - self._gives_mm_per_n(here, self.plunger_at(at)) * force_n

    def plunger_at(self, at: Spot) -> tuple[float, float]:
        """Over which place the plunger is; the nozzle's, where none is fitted."""
        if self._indicator is None:
            return at.x_mm, at.y_mm
        kind = self._indicator.kind
        return at.x_mm + kind.offset_x_mm, at.y_mm + kind.offset_y_mm

    def _plunger(self, at: Spot, pushed_mm: float) -> tuple[float, float]:
        """How far it is pushed in, and its force on a bed that is pushed down so far there. Its
        own spring yields only once the bed's springs push back as hard."""
        place = self.plunger_at(at)
        fitted = self._indicator is not None and self._indicator.mounted
        if self._indicator is None or not (fitted and self._surface.is_bed(*place)):
            return 0.0, 0.0
        below_mm = self._surface.height_mm(*place) + self.block_mm - pushed_mm
        overlap_mm = below_mm - (self._head_z_mm(at) - self._indicator.hangs_mm)
        force_n = self._indicator.kind.force_n
        if self._surface.rigid:
            return max(0.0, overlap_mm), force_n
        gives_mm_per_n = self._surface.gives_mm_per_n(place, place)
        pressed_mm = overlap_mm - gives_mm_per_n * force_n
        if pressed_mm > 0:
            return pressed_mm, force_n
        return 0.0, max(0.0, overlap_mm) / gives_mm_per_n

    def _pushed_by_nozzle_mm(self, at: Spot) -> float:
        """How far a nozzle that presses on the bed pushes it down under the plunger."""
        here = at.x_mm, at.y_mm
        if self._surface.rigid or not self._surface.is_bed(*here):
            return 0.0
        gives_mm_per_n = self._surface.gives_mm_per_n(self.plunger_at(at), here)
        return gives_mm_per_n * self._surface.pressed_n(self.depth_mm(at), here)

    def _gives_mm_per_n(self, at: tuple[float, float], pressed_at: tuple[float, float]) -> float:
        """None where there is no bed to press on."""
        if not self._surface.is_bed(*pressed_at):
            return 0.0
        return self._surface.gives_mm_per_n(at, pressed_at)


def _over(place: tuple[float, float], z_mm: float) -> Spot:
    return Spot(x_mm=place[0], y_mm=place[1], z_mm=z_mm)
