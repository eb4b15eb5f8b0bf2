"""The printers that can be simulated. Invented: no maker's machine is meant."""

from dataclasses import dataclass, field

from hostctl_simulators.bed.bed import BedKind
from hostctl_simulators.bed.screws import ScrewKind
from hostctl_simulators.physical.indicator import IndicatorKind


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeKind:
    """A touch probe on the head."""

    offset_x_mm: float  # from the nozzle to the probe
    offset_y_mm: float
    reaches_mm: float  # how far above the bed the nozzle is when the probe triggers
    sigma_mm: float  # standard deviation of one touch, everything included
    speed_mm_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rooms:
    """How far from the head's own sides the frame stands, the head at that end of its travel."""

    left_mm: float = 60.0
    right_mm: float = 60.0
    front_mm: float = 60.0
    back_mm: float = 60.0
    below_mm: float = 40.0  # under the plunger at the homing place, where no bed is; from z = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PrinterKind:
    """One kind of printer, as built."""

    name: str
    dialect: str  # `classic` or `terse`
    size_x_mm: float
    size_y_mm: float
    size_z_mm: float
    lowest_z_mm: float  # below it the firmware does not go
    baud: int
    steps_per_mm: tuple[float, float, float]  # x, y, z
    fastest_xy_mm_s: float
    fastest_z_mm_s: float
    acceleration_mm_s2: float
    z_return_mm: float  # standard deviation of where the nozzle comes to rest, once a descent
    home_z_mm: float  # standard deviation of where homing finds z = 0
    bed: BedKind
    indicator: IndicatorKind | None
    probe: ProbeKind | None
    from_x_mm: float = 0.0  # what its controller calls the place where it homes
    from_y_mm: float = 0.0
    rooms: Rooms = field(default_factory=Rooms)

    @property
    def to_x_mm(self) -> float:
        """The other end of its travel."""
        return self.from_x_mm + self.size_x_mm

    @property
    def to_y_mm(self) -> float:
        """The other end of its travel."""
        return self.from_y_mm + self.size_y_mm


INDICATOR = IndicatorKind(
    offset_x_mm=25.0,
    offset_y_mm=0.0,
    hangs_mm=5.5,
    travel_mm=10.0,
    graduation_mm=0.01,
    play_mm=0.0055,
    hysteresis_mm=0.003,
    bezel_mm=0.0008,
)

WORKSHOP_220 = PrinterKind(
    name="workshop-220",
    dialect="classic",
    size_x_mm=220.0,
    size_y_mm=220.0,
    size_z_mm=250.0,
    lowest_z_mm=0.0,
    baud=115_200,
    steps_per_mm=(80.0, 80.0, 400.0),
    fastest_xy_mm_s=200.0,
    fastest_z_mm_s=20.0,
    acceleration_mm_s2=800.0,
    z_return_mm=0.002,
    home_z_mm=0.004,
    bed=BedKind(
        screws=(
            ScrewKind(name="front-left", x_mm=30.0, y_mm=30.0),
            ScrewKind(name="front-right", x_mm=190.0, y_mm=30.0),
            ScrewKind(name="back-left", x_mm=30.0, y_mm=190.0),
            ScrewKind(name="back-right", x_mm=190.0, y_mm=190.0),
        ),
        bow_mm=0.06,
        drift_mm_per_c=0.0012,
    ),
    indicator=INDICATOR,
    probe=None,
)

WORKSHOP_TRI = PrinterKind(
    name="workshop-tri",
    dialect="terse",
    size_x_mm=300.0,
    size_y_mm=300.0,
    size_z_mm=300.0,
    lowest_z_mm=-2.0,
    baud=250_000,
    steps_per_mm=(80.0, 80.0, 400.0),
    fastest_xy_mm_s=250.0,
    fastest_z_mm_s=20.0,
    acceleration_mm_s2=1500.0,
    z_return_mm=0.002,
    home_z_mm=0.004,
    bed=BedKind(
        screws=(
            ScrewKind(name="front-left", x_mm=40.0, y_mm=40.0),
            ScrewKind(name="front-right", x_mm=260.0, y_mm=40.0),
            ScrewKind(name="back", x_mm=150.0, y_mm=260.0),
        ),
        bow_mm=0.04,
        drift_mm_per_c=0.0010,
    ),
    indicator=INDICATOR,
    probe=ProbeKind(
        offset_x_mm=0.0,
        offset_y_mm=20.0,
        reaches_mm=1.5,
        sigma_mm=0.004,
        speed_mm_s=4.0,
    ),
)

PRINTERS = {kind.name: kind for kind in (WORKSHOP_220, WORKSHOP_TRI)}
