"""How far a run has come: what is kept, skipped, void or decided, block by block."""

from collections import Counter
from collections.abc import Callable, Collection
from types import MappingProxyType

from hostctl.records import Place, Reading, TieContact
from hostctl.run.procedures.procedure import Decision, Kept, SoFar, Trial
from hostctl.run.record.decided import carried_out, decisions_of
from hostctl.run.record.spots import Spot, Spots
from hostctl.run.record.tied import Tied, tied_in
from hostctl.store.rows import HOMED, NewMark, RunRecord
from hostctl.store.stretches import STOOD_STILL, stretches

Hear = Callable[[Kept], None]
"""Told of each reading that counts, in order."""


class Progress:
    """Counts what was done. Knows nothing of machines, of people, or of what is to come.

    A study may have ten thousand trials, so nothing asked at every trial goes through all of them.
    """

    def __init__(self, most_trials: int, counted_blocks: int = 0, hear: Hear | None = None) -> None:
        """counted_blocks: the trials of later ones don't count; 0: those of all do.

        hear: whoever keeps what it needs of the readings; then only zeros are kept here.
        """
        self._total = most_trials
        self._counted_blocks = counted_blocks
        self._tied = Tied()
        self._hear = hear
        self._since_break = Spots()
        self._breaks = 0
        self._homings = 0
        self._rounds: dict[int, int] = {}
        self._attempts: dict[Spot, int] = {}
        self._done = Spots()
        self._kept: dict[Spot, Kept] = {}
        self._kept_of: Counter[int] = Counter()  # by block, zeros aside
        self._decisions: list[Decision] = []
        self._last_kept: Place | None = None
        self._trials_done = 0
        self._skipped: set[Spot] = set()

    @classmethod
    def from_record(cls, most_trials: int, record: RunRecord) -> "Progress":
        """Where a run that stopped had come to."""
        progress = cls(most_trials)
        progress.recall(record)
        return progress

    def recall(self, record: RunRecord) -> None:
        """Where a run that stopped had come to; nothing was done before."""
        self._count_rounds(record)
        self._recall_readings(record)
        for place in carried_out(record):
            if self._is_of_this_round(place):
                self.carry_out(place)
        for mark in record.marks:
            if mark.round == self._round(mark.block) and mark.trial is not None:
                self._recall_mark(mark, (mark.block, mark.trial))
        self._decisions = decisions_of(record)
        self._tied = tied_in(record)
        self._breaks = sum(1 for event in record.events if event.kind in STOOD_STILL)
        self._homings = sum(1 for event in record.events if event.kind == HOMED)
        self.stood_still()

    @property
    def so_far(self) -> SoFar:
        """For a procedure to go by; to be read before anything more happens."""
        return SoFar(
            kept=MappingProxyType(self._kept),
            done=self._done.seen(),
            rounds=MappingProxyType(self._rounds),
            attempts=MappingProxyType(self._attempts),
            decisions=tuple(self._decisions),
            trials_done=self._trials_done,
            contacts=MappingProxyType(self._tied.contacts),
            grows_pressed=self._tied.grows_pressed,
            since_break=self._since_break.seen(),
            breaks=self._breaks,
            homings=self._homings,
        )

    def place(self, run: int, trial: Trial) -> Place:
        """The place of the coming attempt at `trial`."""
        return Place(
            run=run,
            block=trial.block,
            round=self._round(trial.block),
            trial=trial.trial,
            attempt=self._attempts.get(trial.spot, 1),
            method=trial.method,
            operator=trial.operator,
            point=trial.point,
            trials_done=self.trials_done,
            trials_total=self._total,
            counts=self._counts(trial.block),
        )

    @property
    def trials_done(self) -> int:
        """Trials kept or skipped; zeros don't count."""
        return self._trials_done

    @property
    def trials_total(self) -> int:
        """Trials in the whole study, at most; zeros don't count."""
        return self._total

    @property
    def skipped(self) -> tuple[Spot, ...]:
        """Which of those that are done were skipped."""
        return tuple(sorted(self._skipped))

    def told(self) -> str:
        """`10 of 60 trials are done, 2 skipped`."""
        left_out = len(self._skipped)
        skipped = f", {left_out} skipped" if left_out else ""
        return f"{self._trials_done - left_out} of {self._total} trials are done{skipped}"

    def zero_mm(self, place: Place) -> float | None:
        """The zero kept for this block and round; None: none is."""
        zero = self._kept.get((place.block, 0))
        return zero.reading.value_mm if zero else None

    def last_kept(self, block: int) -> Place | None:
        """The trial just kept, if it is of this block."""
        last = self._last_kept
        return last if last is not None and last.block == block else None

    def keep(self, place: Place, reading: Reading) -> None:
        """A reading is on disk."""
        homings, breaks = self._homings, self._breaks
        self._take(Kept(place=place, reading=reading, homings=homings, breaks=breaks))

    def _take(self, kept: Kept) -> None:
        place = kept.place
        spot = (place.block, place.trial)
        self._close(spot)
        self._kept_of[place.block] += place.trial > 0
        if self._hear is None or place.trial == 0:
            self._kept[spot] = kept
        if self._hear is not None:
            self._hear(kept)
        self._since_break.add(spot)
        if place.attempt > 1:
            self._attempts[spot] = place.attempt
        self._last_kept = place

    def homed(self) -> None:
        """All axes homed."""
        self._homings += 1

    def carry_out(self, place: Place) -> None:
        """A step was done in which nothing is read; that it was is on disk."""
        self._close((place.block, place.trial))

    def decide(self, decision: Decision) -> None:
        """A decision is on disk."""
        self._decisions.append(decision)

    def touch(self, place: Place, contact: TieContact) -> None:
        """Where the nozzle touched before the reading of `place` is on disk."""
        self._tied.contacts[place.block, place.trial] = contact

    @property
    def grows_pressed(self) -> bool | None:
        """Whether the number grows as the plunger is pressed in; None: nobody said yet."""
        return self._tied.grows_pressed

    @grows_pressed.setter
    def grows_pressed(self, grows: bool) -> None:
        self._tied.grows_pressed = grows

    def stood_still(self) -> None:
        """The run was on hold, or did not run: somebody may have moved something."""
        self._since_break.clear()
        self._breaks += 1

    def skip(self, place: Place) -> None:
        """The trial is not to be done."""
        self._leave_out((place.block, place.trial))

    def void(self, place: Place) -> None:
        """This attempt does not count; the trial is to be done again."""
        spot = (place.block, place.trial)
        self._open_again(spot)
        self._attempts[spot] = place.attempt + 1
        self._last_kept = None

    def begun(self) -> set[int]:
        """The blocks of which something is done."""
        return self._done.blocks()

    def kept_in(self, blocks: Collection[int]) -> int:
        """How many readings of these blocks count, zeros aside."""
        return sum(self._kept_of[block] for block in blocks)

    def begin_again(self, block: int) -> None:
        """Everything of this block is to be done again, in a new round."""
        self._rounds[block] = self._round(block) + 1
        self._last_kept = None
        for spot in reversed(self._done.of(block)):
            self._open_again(spot)
        self._kept_of[block] = 0
        for spot in [spot for spot in self._attempts if spot[0] == block]:
            del self._attempts[spot]

    def _counts(self, block: int) -> bool:
        return not self._counted_blocks or block <= self._counted_blocks

    def _round(self, block: int) -> int:
        return self._rounds.get(block, 1)

    def _is_of_this_round(self, place: Place) -> bool:
        return place.round == self._round(place.block)

    def _close(self, spot: Spot) -> None:
        if spot not in self._done:
            self._done.add(spot)
            self._trials_done += spot[1] > 0 and self._counts(spot[0])

    def _leave_out(self, spot: Spot) -> None:
        self._close(spot)
        self._skipped.add(spot)

    def _open_again(self, spot: Spot) -> None:
        self._skipped.discard(spot)
        was_kept = self._kept.pop(spot, None) is not None
        self._kept_of[spot[0]] -= was_kept and spot[1] > 0
        if spot in self._done:
            self._done.discard(spot)
            self._trials_done -= spot[1] > 0 and self._counts(spot[0])

    def _count_rounds(self, record: RunRecord) -> None:
        for place in [stored.kept.place for stored in record.readings] + carried_out(record):
            self._reach_round(place.block, place.round)
        for mark in record.marks:
            self._reach_round(mark.block, mark.round + (1 if mark.trial is None else 0))

    def _reach_round(self, block: int, number: int) -> None:
        if number > self._round(block):
            self._rounds[block] = number

    def _recall_readings(self, record: RunRecord) -> None:
        for stored, lies in zip(record.readings, stretches(record), strict=True):
            place, reading = stored.kept.place, stored.kept.reading
            if self._is_of_this_round(place) and stored.void is None:
                homings, breaks = lies.homings, lies.breaks
                self._take(Kept(place=place, reading=reading, homings=homings, breaks=breaks))

    def _recall_mark(self, mark: NewMark, spot: Spot) -> None:
        if mark.mark == "skipped":
            self._leave_out(spot)
        elif mark.attempt is not None:
            self._attempts[spot] = max(self._attempts.get(spot, 1), mark.attempt + 1)
