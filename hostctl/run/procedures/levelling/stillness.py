"""When a warm bed counts as still: one point is read again and again until it drifts no more.

A bed may cool while the run stands still, so it is waited for anew after that.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from hostctl.config.parts.level import Still
from hostctl.run.procedures.procedure import Decision, Kept, SoFar

LOOKS = 4
"""The drift is fitted over so many, the last ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """The looks of one wait, first to last; what was seen before the run stood still is not."""

    block: int
    still: Still

    def next(self, so_far: SoFar) -> int | Decision | None:
        """The trial to be done, that the wait is over, or nothing where that is decided."""
        if self._is_over(so_far):
            return None
        seen = self._seen(so_far)
        drift_mm = drift_of(seen[-LOOKS:]) if len(seen) >= LOOKS else None
        waited_s = _since_first_s(seen[-1], seen) if seen else 0.0
        last = max((trial for block, trial in so_far.done if block == self.block), default=0)
        if drift_mm is not None and abs(drift_mm) < self.still.within_mm:
            return self._over(seen, drift_mm, waited_s, last, still=True)
        if waited_s + self.still.look_every_s > self.still.longest_s and len(seen) >= LOOKS:
            return self._over(seen, drift_mm or 0.0, waited_s, last, still=False)
        return last + 1

    def begins(self, so_far: SoFar) -> bool:
        """Whether no look was taken yet, or none since the run stood still."""
        return not self._seen(so_far)

    def _is_over(self, so_far: SoFar) -> bool:
        told = [decision.data["still"] for decision in so_far.decisions if "still" in decision.data]
        last = told[-1] if told else None
        return isinstance(last, dict) and (self.block, last.get("look")) in so_far.since_break

    @property
    def most(self) -> int:
        """How many looks it takes at most, if nothing comes between."""
        return max(int(self.still.longest_s // self.still.look_every_s) + 1, LOOKS)

    def _seen(self, so_far: SoFar) -> list[Kept]:
        spots = [spot for spot in so_far.kept if spot[0] == self.block]
        return [so_far.kept[spot] for spot in spots if spot in so_far.since_break]

    def _over(
        self, seen: Sequence[Kept], drift_mm: float, waited_s: float, last: int, *, still: bool
    ) -> Decision:
        took = _minutes(waited_s)
        if still:
            what = f"The warm bed is still: after {took} it drifted by {drift_mm:+.3f} mm"
            what += f" over the last {LOOKS} looks."
        else:
            what = f"The warm bed is not still after {took}: it drifted by {drift_mm:+.3f} mm"
            what += f" over the last {LOOKS} looks, not below {self.still.within_mm:g} mm."
            what += " It is measured all the same."
        told: dict[str, bool | float | int] = {
            "still": still,
            "waited_s": round(waited_s, 1),
            "drift_mm": round(drift_mm, 6),
            "within_mm": self.still.within_mm,
            "looks": len(seen),
            "look": last,
        }
        return Decision(what=what, data={"still": told})


def drift_of(seen: Sequence[Kept]) -> float:
    """From the first to the last of these looks, by a straight line fitted to them, mm."""
    times = [_since_first_s(each, seen) for each in seen]
    values = [each.reading.value_mm for each in seen]
    middle_s, middle_mm = fmean(times), fmean(values)
    squares = sum((at - middle_s) ** 2 for at in times)
    if not squares:
        return 0.0
    both = zip(times, values, strict=True)
    slope = sum((at - middle_s) * (value - middle_mm) for at, value in both) / squares
    return slope * (times[-1] - times[0])


def _since_first_s(one: Kept, seen: Sequence[Kept]) -> float:
    return (one.reading.taken_at - seen[0].reading.taken_at).total_seconds()


def _minutes(waited_s: float) -> str:
    return f"{waited_s / 60:.0f} min" if waited_s >= 120 else f"{waited_s:.0f} s"
