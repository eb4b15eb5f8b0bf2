"""What a probe loop sees of its touches as they come, in little memory, and when it stops by it."""

from datetime import datetime
from typing import TYPE_CHECKING

from hostctl.config.parts.loop import Loop
from hostctl.run.procedures.looping.looks import beyond, looked_at
from hostctl.run.procedures.looping.reach import levels_of
from hostctl.run.procedures.looping.stream import Level, Stream, Streams
from hostctl.run.procedures.looping.verdicts import HELD, LONG_ENOUGH, found_in, looked
from hostctl.run.procedures.procedure import Decision, Finished, Json, Kept, SoFar, StandStill

if TYPE_CHECKING:
    from hostctl.config.machine import Machine
    from hostctl.config.study import Study


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

    def __init__(self, study: "Study", machine: "Machine", touches: int) -> None:
        """touches: how many it has at most."""
        self._loop = loop = study.loop or Loop()
        self._trials = study.trials
        self._levels = levels_of(study)
        self._pace = Pace()
        self._homings, self._since_homing = 0, 0
        self._streams = Streams(
            touches=touches,
            resolution_mm=machine.probe.resolution_mm if machine.probe else 0.0,
            limited=loop.control_limit and loop.heat is None,
            known_to=loop.known_to,
            levels=self._levels,
        )
        self._by_side: dict[tuple[int, str | None], Stream] = {}
        self._last: tuple[Kept, Stream] | None = None
        self._touches = 0

    def hear(self, kept: Kept) -> None:
        """One more touch, or a zero, of which nothing is asked."""
        if kept.homings != self._homings:
            self._homings, self._since_homing = kept.homings, 0
        self._since_homing += 1
        self._pace.hear(kept)
        if kept.place.trial > 0:
            self._touches += 1
            stream = self._stream_of(kept)
            stream.hear(kept.reading.value_mm)
            self._last = kept, stream

    def since_homing(self, so_far: SoFar) -> int:
        """How many touches there were since the axes homed."""
        return self._since_homing if self._homings == so_far.homings else 0

    def is_known(self, block: int) -> bool:
        """Whether the spread at this point is known well enough, from each side."""
        sides = ("left", "right") if self._loop.sides else (None,)
        streams = [self._by_side.get((block, side)) for side in sides]
        return all(stream is not None and stream.is_known for stream in streams)

    def decide(self, so_far: SoFar) -> Decision | StandStill | Finished | None:
        """What the touches call for before the next one; None: nothing."""
        last = so_far.decisions[-1] if so_far.decisions else None
        found = found_in(last) if last else {}
        if last is not None and found.get("verdict") == LONG_ENOUGH:
            return Finished(reason=last.what)
        if last is not None and found.get("verdict") == HELD and found["breaks"] == so_far.breaks:
            return StandStill(reason=last.what)
        decided = {_which(decision) for decision in so_far.decisions}
        calls = (self._beyond(so_far), self._looked(), self._long_enough())
        return next((call for call in calls if call and _which(call) not in decided), None)

    def _beyond(self, so_far: SoFar) -> Decision | None:
        if self._last is None:
            return None
        kept, stream = self._last
        if stream.checked is None or not stream.checked.beyond:
            return None
        return beyond(kept, stream.checked, touches=self._touches, breaks=so_far.breaks)

    def _looked(self) -> Decision | None:
        if self._last is None:
            return None
        kept, stream = self._last
        look, known, side = stream.due, stream.known, stream.level.side
        if look is None or known is None:
            return None
        return looked_at(kept, look, known, side=side, touches=self._touches, levels=self._levels)

    def _long_enough(self) -> Decision | None:
        longest_s, went_on_s = self._loop.longest_s, self._pace.went_on_s
        if longest_s is None or went_on_s < longest_s:
            return None
        what = f"It touched for {went_on_s:.0f} s, which is as long as it was to."
        return looked(what, LONG_ENOUGH, self._touches, went_on_s=round(went_on_s, 3))

    def _stream_of(self, kept: Kept) -> Stream:
        """Where it belongs; one that is not of its level ends, and its touches stay on record."""
        place, loop = kept.place, self._loop
        side = loop.side(place.trial)
        homings = 0 if loop.home_every == 1 else kept.homings
        level = Level(side=side, round=place.round, homings=homings, breaks=kept.breaks)
        stream = self._by_side.get((place.block, side))
        if stream is None or stream.level != level:
            to_come = len(range(place.trial, self._trials + 1, 2 if side else 1))
            stream = self._streams.begin(level, to_come)
            self._by_side[place.block, side] = stream
        return stream


def _which(decision: Decision) -> tuple[Json, Json]:
    """What tells it from others: its verdict, and after how many touches."""
    found = found_in(decision)
    return found.get("verdict"), found.get("touches")
