"""What is measured, where, and how warm: frozen records, units in their names."""

from dataclasses import dataclass
from datetime import datetime

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
    source: str  # the gauge's name: "typed", "probe", "serial indicator"
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
