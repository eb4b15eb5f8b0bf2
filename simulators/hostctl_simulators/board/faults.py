"""What can go wrong on purpose, and the count of what did.

Each kind of fault has its own random stream: switching one on changes nothing about the others,
nor about the physical side.
"""

from dataclasses import dataclass, field
from math import floor, log
from random import Random

from hostctl_simulators.chance import stream


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultPlan:
    """What is to go wrong. Rates are shares (0.002: two in a thousand); 0: never.

    Counts are counted from when the printer was first switched on; 0: never.
    """

    corrupt_to_printer: float = 0.0  # share of bytes on the way to the printer with one bit flipped
    corrupt_to_host: float = 0.0
    lost_ok: float = 0.0  # share of acknowledgements that never leave the printer
    lost_ok_at_command: int = 0  # the acknowledgement of this command never leaves it
    doubled_ok: float = 0.0
    reset_at_move: int = 0  # the board resets half-way through this move
    reset_at_command: int = 0  # the board resets when it begins this command
    unplug_at_command: int = 0  # the cable is pulled when this command begins
    replug_after_s: float = 3.0
    stall_at_command: int = 0  # the board goes deaf and dumb when this command begins
    stall_s: float = 10.0  # `inf`: until it is reset
    thermal_at_command: int = 0  # a heater runs away when this command begins
    thermal_after_s: float = 0.0  # or so long after it
    thermal_halts: int = 1  # 0: the board stops itself, but goes on acknowledging
    power_cut_at_command: int = 0  # the mains fail when this command begins
    power_back_after_s: float = 3.0
    door_opened_at_command: int = 0  # somebody opens the door when this command begins
    door_shut_after_s: float = float("inf")  # `inf`: when a hand shuts it
    probe_fails: float = 0.0  # share of touches at which the probe does not trigger as it should

    def __post_init__(self) -> None:
        rates = (self.corrupt_to_printer, self.corrupt_to_host, self.lost_ok, self.doubled_ok)
        if not all(0 <= rate < 1 for rate in (*rates, self.probe_fails)):
            raise ValueError("a rate must be at least 0 and below 1")


@dataclass(slots=True, kw_only=True)
class FaultCounts:
    """What went wrong so far."""

    bytes_corrupted_to_printer: int = 0
    bytes_corrupted_to_host: int = 0
    bytes_overrun: int = 0  # lost because the receive buffer was full
    lines_refused: int = 0  # answered with a resend request
    slipped: list[str] = field(default_factory=list)  # damaged lines that passed and were done
    oks_lost: int = 0
    oks_doubled: int = 0
    resets: int = 0  # by fault, not by opening the port
    unplugs: int = 0
    stalls: int = 0
    thermal: int = 0
    power_cuts: int = 0
    touches_failed: int = 0


class Corruption:
    """Flips single bits in passing bytes. Counted by bytes, so how they are cut never matters."""

    def __init__(self, rate: float, chance: Random) -> None:
        self._rate = rate
        self._chance = chance
        self._clean = self._gap()

    def _gap(self) -> int:
        """How many bytes pass unharmed before the next hit: geometric."""
        if self._rate == 0:
            return 1 << 62
        return floor(log(1 - self._chance.random()) / log(1 - self._rate))

    def pass_through(self, data: bytes) -> tuple[bytes, list[int]]:
        """What arrives, and the places that were hit."""
        if self._clean >= len(data):
            self._clean -= len(data)
            return data, []
        arrived, hit, at = bytearray(data), [], self._clean
        while at < len(data):
            arrived[at] ^= 1 << self._chance.randrange(8)
            hit.append(at)
            at += 1 + self._gap()
        self._clean = at - len(data)
        return bytes(arrived), hit


class Touching:
    """Decides which touches fail."""

    def __init__(self, plan: FaultPlan, seed: int, counts: FaultCounts) -> None:
        self._plan = plan
        self._counts = counts
        self._failing = stream(seed, "failed touch")

    def fails(self) -> bool:
        """Whether the next touch fails."""
        failed = self._failing.random() < self._plan.probe_fails
        self._counts.touches_failed += failed
        return failed


class Acknowledging:
    """Decides how often each `ok` leaves the printer: once, never, or twice."""

    def __init__(self, plan: FaultPlan, seed: int, counts: FaultCounts) -> None:
        self._plan = plan
        self._counts = counts
        self._lost = stream(seed, "lost ok")
        self._doubled = stream(seed, "doubled ok")

    def copies(self, command: int = 0) -> int:
        """How many times the next `ok` is sent, for the command of this number, if any."""
        lost = self._lost.random() < self._plan.lost_ok
        lost = lost or 0 < command == self._plan.lost_ok_at_command
        doubled = self._doubled.random() < self._plan.doubled_ok
        self._counts.oks_lost += lost
        self._counts.oks_doubled += doubled and not lost
        return 0 if lost else 2 if doubled else 1
