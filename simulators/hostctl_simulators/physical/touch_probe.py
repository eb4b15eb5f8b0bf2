"""The touch probe on the head: out or in, free or stuck, feeling the bed or blind to it."""

from hostctl_simulators.physical.bench_faults import BenchFaults

OUT_BELOW_DEG = 45.0
"""Its arm holds it out below this angle, and in from there on."""


class TouchProbe:
    """As delivered it is out, and stays out until an order puts it in."""

    def __init__(self, faults: BenchFaults) -> None:
        self.out = True
        self.touches = 0
        self._faults = faults
        self._orders = 0
        self._freed = False

    def point_arm(self, angle_deg: float) -> None:
        """An order turned its arm."""
        self._orders += 1
        out = angle_deg < OUT_BELOW_DEG
        if not (out and self._since(self._faults.probe_stays_in_at_order, self._orders)):
            self.out = out

    @property
    def triggered(self) -> bool:
        """Whether it says that it touches, the head up: it is stuck."""
        return self._since(self._faults.probe_stuck_at_touch, self.touches + 1)

    @property
    def blind(self) -> bool:
        """Whether the next touch feels nothing: it is in, or its lead is broken."""
        broken = self._since(self._faults.probe_blind_at_touch, self.touches + 1)
        return broken or not self.out

    def free(self) -> None:
        """A hand sees to it: it moves freely, and its lead is whole."""
        self._freed = True

    def _since(self, at: int, now: int) -> bool:
        return 0 < at <= now and not self._freed
