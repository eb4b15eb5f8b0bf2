"""A heated part with a thermostat, and the slower body that is soaked by its heat."""

from dataclasses import dataclass
from math import exp

AMBIENT_C = 21.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaterKind:
    """How fast it heats, cools, and soaks through."""

    heats_c_per_s: float
    cools_in_s: float  # time constant towards ambient
    soaks_in_s: float  # time constant of what is warmed by it
    hottest_c: float  # a target above it is not taken


BED = HeaterKind(heats_c_per_s=0.4, cools_in_s=420.0, soaks_in_s=240.0, hottest_c=110.0)
NOZZLE = HeaterKind(heats_c_per_s=2.5, cools_in_s=160.0, soaks_in_s=30.0, hottest_c=275.0)


class Heater:
    """Cold at first. `pass_time` brings it up to a moment; heat follows the thermostat."""

    def __init__(self, kind: HeaterKind) -> None:
        self.kind = kind
        self.target_c = 0.0  # 0: off
        self.room_c = AMBIENT_C
        self.now_c = AMBIENT_C
        self.soaked_c = AMBIENT_C
        self._at_s = 0.0

    @property
    def power(self) -> int:
        """What the controller reports as drive, 0 to 127."""
        return 127 if self.now_c < self.target_c - 0.5 else (40 if self.target_c > 0 else 0)

    def pass_time(self, now_s: float) -> None:
        """Let time pass up to `now_s`, simulated seconds."""
        passed_s = now_s - self._at_s
        if passed_s <= 0:
            return
        self._at_s = now_s
        if self.target_c > self.now_c:
            self.now_c = min(self.target_c, self.now_c + self.kind.heats_c_per_s * passed_s)
        else:
            rest = (self.now_c - self.room_c) * exp(-passed_s / self.kind.cools_in_s)
            self.now_c = max(self.room_c + rest, min(self.target_c, self.now_c))
        self.soaked_c += (self.now_c - self.soaked_c) * (1 - exp(-passed_s / self.kind.soaks_in_s))

    def warm_room(self, kelvin: float) -> None:
        """It has long been so much warmer around it."""
        self.room_c += kelvin
        self.now_c += kelvin
        self.soaked_c += kelvin

    @property
    def reached(self) -> bool:
        """Within a degree of the target, or off."""
        return self.target_c == 0 or abs(self.now_c - self.target_c) < 1.0
