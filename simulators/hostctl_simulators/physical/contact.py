"""The electrical contact of nozzle and plate, as a lamp or an input finds it."""

from enum import Enum
from math import inf

from hostctl_simulators.chance import stream
from hostctl_simulators.physical.bench_faults import BenchFaults

FROM_THE_BEGINNING = 1 / 3  # of the faults that do not strike on the way down
STRIKES_MM = (-0.02, 0.4)  # the others: somewhere in this range of the gap


class Fault(Enum):
    """What is wrong with the contact in one descent."""

    LOST = "lost"
    STUCK = "stuck"
    BOUNCES = "bounces"
    LATE = "late"


class Contact:
    """Open or closed. Faults are drawn once a descent of the nozzle, keyed by its number."""

    def __init__(self, faults: BenchFaults, seed: int) -> None:
        self.joined = False  # by the lead in somebody's hand
        self.residue_mm = faults.residue_mm
        self.residue_insulates = bool(faults.residue_insulates)
        self.looks = 0
        self._faults = faults
        self._seed = seed
        self._descent = 0
        self._nearest_mm = inf  # the smallest gap of this descent
        self._fault, self._strikes_mm = self._drawn()

    @property
    def may_fail(self) -> bool:
        """Whether a fault may strike at all."""
        return any(share > 0 for _, share in self._shares())

    def note(self, gap_mm: float, descent: int) -> None:
        """The nozzle is so far above what lies under it, in this descent."""
        if descent != self._descent:
            self._descent, self._nearest_mm = descent, inf
            self._fault, self._strikes_mm = self._drawn()
        self._nearest_mm = min(self._nearest_mm, gap_mm)

    @property
    def fault(self) -> Fault | None:
        """What is wrong with it now."""
        return self._fault if self._nearest_mm <= self._strikes_mm else None

    def closed(self, gap_mm: float) -> bool:
        """What one look finds, the nozzle so far above what lies under it."""
        self.looks += 1
        touches = self.joined or gap_mm <= self._closes_mm
        match self.fault:
            case Fault.LOST:
                return False
            case Fault.STUCK:
                return True
            case Fault.BOUNCES:
                return touches and self.looks % 2 == 0
            case _:
                return touches

    @property
    def _closes_mm(self) -> float:
        """The gap at which it closes."""
        crumb_mm = -self.residue_mm if self.residue_insulates else self.residue_mm
        late_mm = self._faults.contact_late_mm if self.fault is Fault.LATE else 0.0
        return crumb_mm - late_mm

    def _drawn(self) -> tuple[Fault | None, float]:
        """The fault of this descent, and the gap at which it strikes."""
        chance = stream(self._seed, f"contact/{self._descent}")
        for fault, share in self._shares():
            strikes = chance.random() < share
            at_once = chance.random() < FROM_THE_BEGINNING
            strikes_mm = chance.uniform(*STRIKES_MM)
            if strikes:
                return fault, inf if share == 1 or at_once else strikes_mm
        return None, -inf

    def _shares(self) -> tuple[tuple[Fault, float], ...]:
        faults = self._faults
        return (
            (Fault.LOST, faults.contact_lost),
            (Fault.STUCK, faults.contact_stuck),
            (Fault.BOUNCES, faults.contact_bounces),
            (Fault.LATE, faults.contact_late),
        )
