"""What a simulation was given, so that what is found can be checked against it."""

from dataclasses import dataclass
from math import hypot

from hostctl_simulators.physical.printers import PrinterKind
from hostctl_simulators.physical.skill import skill_of
from hostctl_simulators.physical.tips import Tips


@dataclass(frozen=True, slots=True)
class Truth:
    """Of one printer and its hands."""

    kind: PrinterKind
    tips: Tips

    @property
    def rig_sigma_mm(self) -> float:
        """What one reading scatters with nothing adjusted, before rounding: the return of the
        axis and the play of the indicator. 0 where no indicator is fitted."""
        if self.kind.indicator is None:
            return 0.0
        return hypot(self.kind.z_return_mm, self.kind.indicator.play_mm)

    @property
    def probe_sigma_mm(self) -> float | None:
        """What one touch scatters; None without a probe."""
        return self.kind.probe.sigma_mm if self.kind.probe else None

    def hand_sigma_mm(self, method: str, operator: str) -> float:
        """The hand and the method alone."""
        return skill_of(method, operator).sigma_mm

    def sigma_mm(self, method: str, operator: str) -> float:
        """The scatter of one setting: the hand's, and the axis's return to the height at which
        the gap is set. This is what total minus rig comes to."""
        return hypot(self.hand_sigma_mm(method, operator), self.kind.z_return_mm)

    def mean_gap_mm(self, method: str, operator: str) -> float:
        """The gap that these hands leave by this method, on average."""
        skill = skill_of(method, operator)
        return skill.gap_mm + skill.bias_mm

    @property
    def tie_sigma_mm(self) -> float:
        """What one tie by touch scatters, before its step and the rounding: the axis comes to rest
        twice, at the touch and at the reading, and the indicator plays. 0 where none is fitted."""
        return hypot(self.rig_sigma_mm, self.kind.z_return_mm) if self.kind.indicator else 0.0

    def bias_mm(self, method: str, operator: str) -> float:
        """By how much these hands leave the gap wider than the method aims at."""
        return skill_of(method, operator).bias_mm

    def tie_constant_mm(
        self, point: tuple[float, float], *, set_z_mm: float, reading_z_mm: float
    ) -> float:
        """What a tie at this point is out to find, as bezel, mount, nozzle and heat are now: the
        gap of a setting plus what its reading shows pressed in, the nozzle at these heights.

        Raises LookupError where no indicator is fitted.
        """
        return self.tips.tie_constant_mm(point, set_z_mm=set_z_mm, reading_z_mm=reading_z_mm)
