"""What is measured, where, and how warm: frozen records, units in their names."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, Protocol

TIE_METHOD = "tie"
"""The method of readings that join the indicator to the nozzle; no study's method is called so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """Where the head is, as the machine reported it (not as it was asked for), mm."""

    x_mm: float
    y_mm: float
    z_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Temperatures:
    """What the machine said of its heat, degrees Celsius. None: it did not say."""

    nozzle_c: float | None = None
    bed_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """How warm the machine says it is, and what its heaters aim at (0: off). None: it does not."""

    nozzle_c: float | None = None
    nozzle_target_c: float | None = None
    bed_c: float | None = None
    bed_target_c: float | None = None

    @property
    def temperatures(self) -> Temperatures:
        """Without what it aims at."""
        return Temperatures(nozzle_c=self.nozzle_c, bed_c=self.bed_c)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One number from one gauge, with what is needed to judge it later."""

    value_mm: float
    resolution_mm: float  # the value stands for value_mm +/- resolution_mm / 2
    taken_at: datetime  # UTC, when the gauge gave it, not when it was stored
    source: str  # the gauge's name: "typed", "probe", "serial indicator", "typing indicator"
    at: Position  # as the machine reported it, not as it was asked for
    temperatures: Temperatures


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where in the study something happens. Counts start at 1; trial 0 is a block's zero.

    `round` counts how often the block was begun: 2 after its zero was lost once.
    `counts`: whether it is one of the trials that are counted; a tie made within a study is not.
    """

    run: int
    block: int
    round: int
    trial: int
    attempt: int
    method: str
    operator: str
    point: str
    trials_done: int  # in the whole run
    trials_total: int
    counts: bool = True


class Rounded(Protocol):
    """A number as it was read, and what it was rounded to."""

    @property
    def value_mm(self) -> float: ...
    @property
    def resolution_mm(self) -> float: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class TieContact:
    """Where the nozzle touched, or what lay under it, before a tie's reading. All mm.

    With A = set_z - reading_z + plunger_z, s = 1 where the number grows as the plunger is pressed
    in and -1 where it falls, and r the reading, rounded to h, the tie's constant lies from
    A + s r - h/2 + between_low - open_z to A + s r + h/2 + between_high - closed_z; the gap of a
    setting read as r is that constant less s r.

    open_z_mm: the lowest height of the nozzle with no contact yet; closed_z_mm: the first with it;
    by feelers and gauge block both are where it stood.  between_low_mm, between_high_mm: what lay
    between the nozzle and what the plunger then reads.  plunger_z_mm: the nozzle's height at that
    reading.  set_z_mm, reading_z_mm: those at which settings are made and read.
    """

    by: str
    open_z_mm: float
    closed_z_mm: float
    between_low_mm: float
    between_high_mm: float
    plunger_z_mm: float
    set_z_mm: float
    reading_z_mm: float

    def constant_mm(self, reading: Rounded, *, grows_pressed: bool) -> tuple[float, float]:
        """Where the tie's constant lies by this alone, the rounding of the reading in it."""
        pressed_mm = reading.value_mm if grows_pressed else -reading.value_mm
        half_mm = 0.5 * reading.resolution_mm
        above_mm = self.set_z_mm - self.reading_z_mm + self.plunger_z_mm + pressed_mm
        low_mm = above_mm + self.between_low_mm - self.open_z_mm - half_mm
        return low_mm, above_mm + self.between_high_mm - self.closed_z_mm + half_mm

    def as_data(self, place: Place) -> dict[str, object]:
        """With where in the study it is, as JSON holds it."""
        at = {"block": place.block, "round": place.round, "trial": place.trial}
        return {**at, "attempt": place.attempt, "point": place.point, **asdict(self)}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> "TieContact":
        """As `as_data` wrote it."""
        return cls(**{name: data[name] for name in cls.__dataclass_fields__})
