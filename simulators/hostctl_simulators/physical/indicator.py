"""A dial indicator carried by the head: play, hysteresis, graduations, and a bezel to zero it."""

from dataclasses import dataclass

from hostctl_simulators.chance import normal, stream


@dataclass(frozen=True, slots=True, kw_only=True)
class IndicatorKind:
    """One indicator and its mount."""

    offset_x_mm: float  # from the nozzle to the plunger
    offset_y_mm: float
    hangs_mm: float  # how far the free plunger reaches below the nozzle
    travel_mm: float
    graduation_mm: float
    play_mm: float  # standard deviation of how the mount and plunger seat, once a lowering
    hysteresis_mm: float  # between running in and running out
    bezel_mm: float  # standard deviation of a hand's setting of the zero
    force_n: float = 0.8  # of the plunger; ISO 463 allows 1.5 N, from memory
    mount_mm_per_c: float = 0.0012  # how much lower the plunger sits in a warmer room
    sticks_out_mm: float = 20.0  # beyond the head, on the side of its plunger
    sticks_front_mm: float = 6.0  # beyond the head's front: its dial
    close_mm: float = 8.0  # beyond the head there, where it is fixed closer to it
    seats_mm: float = 0.2  # mounted anew it may hang so much lower or higher
    in_its_box: bool = False  # as the machine was delivered


class Indicator:
    """What it shows, and what an eye makes of it.

    The play is drawn once each time the plunger comes down onto the bed, not when it is looked at:
    looking twice gives the same reading.
    """

    def __init__(self, kind: IndicatorKind, seed: int, *, falls: bool = False) -> None:
        """falls: its number falls as the plunger is pressed in."""
        self.kind = kind
        self.sign = -1 if falls else 1
        self.hangs_mm = kind.hangs_mm  # as mounted, knocked and warmed
        self.sticks_out_mm = kind.sticks_out_mm
        self.mounted = not kind.in_its_box
        self.mountings = 0 if kind.in_its_box else 1
        self.lowerings = 0
        self.zeroings = 0
        self.zeroed = False  # since the plunger came down
        self._seed = seed
        self._pressed_mm = 0.0
        self._play_mm = 0.0
        self._lag_mm = 0.0
        self._zero_mm = 0.0

    @classmethod
    def of(cls, kind: IndicatorKind | None, seed: int, falls: int) -> "Indicator | None":
        """The indicator of a printer that may have none; falls: 1 where its number does."""
        return cls(kind, seed, falls=bool(falls)) if kind else None

    def take_off(self) -> None:
        """It lies beside the machine."""
        self.mounted = False
        self.press(0.0)

    def mount(self) -> None:
        """It is on the head again, nearly where it was."""
        if not self.mounted:
            chance = stream(self._seed, f"mounting/{self.mountings}")
            self.mountings += 1
            seats_mm = self.kind.seats_mm
            self.hangs_mm = self.kind.hangs_mm + chance.uniform(-seats_mm, seats_mm)
            self.mounted = True

    @property
    def sticks_mm(self) -> dict[str, float]:
        """How far it sticks out beyond the head on each side."""
        aside = "right" if self.kind.offset_x_mm >= 0 else "left"
        sides = dict.fromkeys(("left", "right", "front", "back"), 0.0)
        return sides | {aside: self.sticks_out_mm, "front": self.kind.sticks_front_mm}

    @property
    def touching(self) -> bool:
        """Whether the plunger rests on the bed."""
        return self._pressed_mm > 0

    def press(self, pressed_mm: float) -> None:
        """The plunger is pushed in this far now; 0 or less: it hangs free."""
        pressed_mm = max(pressed_mm, 0.0)
        if pressed_mm > 0 and not self.touching:
            self.lowerings += 1
            self.zeroed = False
            self._play_mm = self.kind.play_mm * normal(self._seed, "dial play", self.lowerings)
        if pressed_mm != self._pressed_mm:
            half_mm = self.kind.hysteresis_mm / 2
            self._lag_mm = -half_mm if pressed_mm > self._pressed_mm else half_mm
        self._pressed_mm = pressed_mm

    @property
    def shown_mm(self) -> float:
        """What it shows, unrounded, relative to the bezel's zero."""
        moved_mm = self._pressed_mm + self._play_mm + self._lag_mm if self.touching else 0.0
        return self.sign * (moved_mm - self._zero_mm)

    @property
    def reading_mm(self) -> float:
        """What an eye reads: the nearest graduation. A bed that rose reads more."""
        graduations = round(self.shown_mm / self.kind.graduation_mm)
        return round(graduations * self.kind.graduation_mm, 6)

    def set_zero(self) -> None:
        """Turn the bezel until it shows zero, as well as a hand can."""
        self.zeroings += 1
        self.zeroed = True
        self._zero_mm += self.sign * self.shown_mm
        self._zero_mm += self.kind.bezel_mm * normal(self._seed, "bezel", self.zeroings)

    def turn_bezel(self, more_mm: float) -> None:
        """Turn the bezel so that it shows so much more."""
        self._zero_mm -= self.sign * more_mm

    @property
    def free_mm(self) -> float:
        """What it would show on average, come down, its plunger not pushed in at all: the play is
        left out, the lag of running in is not."""
        return self.sign * (-self.kind.hysteresis_mm / 2 - self._zero_mm)
