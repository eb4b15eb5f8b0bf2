"""What a probe loop sees of its touches as they come, in little memory, and when it stops by it."""

from datetime import datetime
from typing import TYPE_CHECKING

from hostctl.config.parts.loop import Loop
from hostctl.run.procedures.looping.verdicts import found_in, looked
from hostctl.run.procedures.procedure import Decision, Finished, Kept, SoFar, StandStill

if TYPE_CHECKING:
    from hostctl.config.machine import Machine

LONG_ENOUGH, HELD, KNOWN, GOES_ON = "long-enough", "held", "known", "goes-on"
OVER = frozenset({LONG_ENOUGH, KNOWN})


class Pace:
    """How long the touches took, by their own times; standing still is left out."""

    def __init__(self) -> None:
        self.went_on_s = 0.0
        self._last_at: datetime | None = None
        self._breaks = 0

    def hear(self, kept: Kept) -> None:
        """One more touch."""
        at = kept.reading.taken_at
        if self._last_at is not None and kept.breaks == self._breaks:
            self.went_on_s += max((at - self._last_at).total_seconds(), 0.0)
        self._last_at, self._breaks = at, kept.breaks


class Watching:
    """Of one loop; told of each touch in order, after a stop of those on record."""

    def __init__(self, loop: Loop, machine: "Machine", touches: int) -> None:
        """touches: how many it has at most."""
        self._loop = loop
        self._pace = Pace()
        self._homings, self._since_homing = 0, 0

    def hear(self, kept: Kept) -> None:
        """One more touch."""
        if kept.homings != self._homings:
            self._homings, self._since_homing = kept.homings, 0
        self._since_homing += 1
        self._pace.hear(kept)

    def since_homing(self, so_far: SoFar) -> int:
        """How many touches there were since the axes homed."""
        return self._since_homing if self._homings == so_far.homings else 0

    def decide(self, so_far: SoFar) -> Decision | StandStill | Finished | None:
        """What the touches call for before the next one; None: nothing."""
        last = so_far.decisions[-1] if so_far.decisions else None
        found = found_in(last) if last else {}
        if last is not None and found.get("verdict") in OVER:
            return Finished(reason=last.what)
        if last is not None and found.get("verdict") == HELD and found["breaks"] == so_far.breaks:
            return StandStill(reason=last.what)
        return self._long_enough()

    def _long_enough(self) -> Decision | None:
        longest_s, went_on_s = self._loop.longest_s, self._pace.went_on_s
        if longest_s is None or went_on_s < longest_s:
            return None
        what = f"It touched for {went_on_s:.0f} s, which is as long as it was to."
        return looked(what, LONG_ENOUGH, went_on_s=round(went_on_s, 3))
