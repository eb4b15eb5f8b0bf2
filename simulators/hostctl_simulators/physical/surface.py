"""What nozzle and plunger meet: the bed, what lies on it, and how it gives on its springs."""

from dataclasses import dataclass

from hostctl_simulators.bed.bed import Bed
from hostctl_simulators.physical.printers import PrinterKind

EDGE_MM = 3.0  # the bed ends so far inside the travel: the nozzle homes beside it
LYING_REACH_MM = 12.0  # a plate laid under the nozzle reaches so far about it: not to the plunger
HEAD_N_PER_MM = 200.0  # how stiff the head and its guides are


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """A plate, a foil or a gauge block on the bed, laid under the nozzle."""

    x_mm: float
    y_mm: float
    thick_mm: float

    def covers(self, x_mm: float, y_mm: float) -> bool:
        """Whether it lies at this place."""
        far_mm = max(abs(x_mm - self.x_mm), abs(y_mm - self.y_mm))
        return far_mm <= LYING_REACH_MM


class Surface:
    """The top of whatever is there, and how far a force moves it."""

    def __init__(self, kind: PrinterKind, bed: Bed, springs_n_per_mm: float) -> None:
        self.lying: Lying | None = None
        self._kind = kind
        self._bed = bed
        self._springs_n_per_mm = springs_n_per_mm  # 0: nothing gives

    def is_bed(self, x_mm: float, y_mm: float) -> bool:
        """Whether there is bed at this place."""
        kind = self._kind
        within_x = kind.from_x_mm + EDGE_MM <= x_mm <= kind.to_x_mm - EDGE_MM
        return within_x and kind.from_y_mm + EDGE_MM <= y_mm <= kind.to_y_mm - EDGE_MM

    def height_mm(self, x_mm: float, y_mm: float) -> float:
        """The top of bed or plate there, nothing pressing on it, above the machine's z = 0."""
        height_mm = self._bed.height_mm(x_mm, y_mm)
        if self.lying is not None and self.lying.covers(x_mm, y_mm):
            height_mm += self.lying.thick_mm
        return height_mm

    @property
    def rigid(self) -> bool:
        """Whether nothing gives."""
        return self._springs_n_per_mm == 0

    @property
    def stands_mm(self) -> float:
        """How high it stands out of the bed, where something lies on it."""
        return self.lying.thick_mm if self.lying else 0.0

    def gives_mm_per_n(self, at: tuple[float, float], pressed_at: tuple[float, float]) -> float:
        """How far it sinks at one place for each newton at another, rigid on its springs."""
        if self.rigid:
            return 0.0
        here, there = self._bed.shares(*at), self._bed.shares(*pressed_at)
        return sum(here[name] * there[name] for name in here) / self._springs_n_per_mm

    def pressed_n(self, deep_mm: float, at: tuple[float, float]) -> float:
        """The force of a nozzle that goes on so far after it touched there: bed and head share
        the way as their stiffness has it."""
        return max(deep_mm, 0.0) / (self.gives_mm_per_n(at, at) + 1 / HEAD_N_PER_MM)
