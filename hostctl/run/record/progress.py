"""How far a run has come: what is kept, skipped or void, block by block."""

from collections.abc import Collection

from hostctl.records import Place
from hostctl.run.schedule import Schedule, Trial
from hostctl.store.rows import NewMark, RunRecord

Spot = tuple[int, int]  # block, trial


class Progress:
    """Counts trials against a schedule. Knows nothing of machines or people.

    A study may have ten thousand trials, so nothing asked at every trial goes through all of them.
    """

    def __init__(self, schedule: Schedule) -> None:
        self._schedule = schedule
        self._turn_of = {(t.block, t.trial): turn for turn, t in enumerate(schedule)}
        self._first_open = 0  # no trial before this turn is still to be done
        self._rounds = {trial.block: 1 for trial in schedule}
        self._attempts: dict[Spot, int] = {}
        self._done: set[Spot] = set()
        self._values_mm: dict[Spot, float] = {}
        self._last_kept: Place | None = None
        self._trials_done = 0
        self._total = sum(1 for trial in schedule if trial.trial > 0)

    @classmethod
    def from_record(cls, schedule: Schedule, record: RunRecord) -> "Progress":
        """Where a run that stopped had come to."""
        progress = cls(schedule)
        progress._count_rounds(record)
        for stored in record.readings:
            place = stored.kept.place
            if place.round == progress._rounds.get(place.block) and stored.void is None:
                progress.keep(place, stored.kept.reading.value_mm)
        for mark in record.marks:
            if mark.round == progress._rounds.get(mark.block) and mark.trial is not None:
                progress._recall(mark, (mark.block, mark.trial))
        return progress

    def next(self) -> Trial | None:
        """The first trial of the schedule not yet kept or skipped; None: all are done."""
        while self._first_open < len(self._schedule):
            trial = self._schedule[self._first_open]
            if (trial.block, trial.trial) not in self._done:
                return trial
            self._first_open += 1
        return None

    def place(self, run: int, trial: Trial) -> Place:
        """The place of the coming attempt at `trial`."""
        return Place(
            run=run,
            block=trial.block,
            round=self._rounds[trial.block],
            trial=trial.trial,
            attempt=self._attempts.get((trial.block, trial.trial), 1),
            method=trial.method,
            operator=trial.operator,
            point=trial.point,
            trials_done=self.trials_done,
            trials_total=self._total,
        )

    @property
    def trials_done(self) -> int:
        """Trials kept or skipped; zeros don't count."""
        return self._trials_done

    @property
    def trials_total(self) -> int:
        """Trials in the whole study; zeros don't count."""
        return self._total

    def zero_mm(self, place: Place) -> float | None:
        """The zero kept for this block and round; None: none is."""
        return self._values_mm.get((place.block, 0))

    def last_kept(self, block: int) -> Place | None:
        """The trial just kept, if it is of this block."""
        last = self._last_kept
        return last if last is not None and last.block == block else None

    def keep(self, place: Place, value_mm: float) -> None:
        """A reading is on disk."""
        spot = (place.block, place.trial)
        self._close(spot)
        self._values_mm[spot] = value_mm
        self._attempts[spot] = place.attempt
        self._last_kept = place

    def skip(self, place: Place) -> None:
        """The trial is not to be done."""
        self._close((place.block, place.trial))

    def void(self, place: Place) -> None:
        """This attempt does not count; the trial is to be done again."""
        spot = (place.block, place.trial)
        self._open_again(spot)
        self._attempts[spot] = place.attempt + 1
        self._last_kept = None

    def begun_blocks(self) -> list[Trial]:
        """One trial of each block that is begun and not finished."""
        begun = {block for block, _ in self._done}
        unfinished = {t.block: t for t in self._schedule if (t.block, t.trial) not in self._done}
        return [trial for block, trial in sorted(unfinished.items()) if block in begun]

    def kept_in(self, blocks: Collection[int]) -> int:
        """How many readings of these blocks count, zeros aside."""
        return sum(1 for block, trial in self._values_mm if trial > 0 and block in blocks)

    def begin_again(self, block: int) -> None:
        """Everything of this block is to be done again, in a new round."""
        self._rounds[block] += 1
        self._last_kept = None
        for spot in self._turn_of:
            if spot[0] == block:
                self._open_again(spot)
                self._attempts.pop(spot, None)

    def _close(self, spot: Spot) -> None:
        if spot not in self._done:
            self._done.add(spot)
            self._trials_done += spot[1] > 0

    def _open_again(self, spot: Spot) -> None:
        self._values_mm.pop(spot, None)
        self._first_open = min(self._first_open, self._turn_of[spot])
        if spot in self._done:
            self._done.remove(spot)
            self._trials_done -= spot[1] > 0

    def _count_rounds(self, record: RunRecord) -> None:
        for stored in record.readings:
            self._reach_round(stored.kept.place.block, stored.kept.place.round)
        for mark in record.marks:
            self._reach_round(mark.block, mark.round + (1 if mark.trial is None else 0))

    def _reach_round(self, block: int, number: int) -> None:
        self._rounds[block] = max(self._rounds.get(block, 1), number)

    def _recall(self, mark: NewMark, spot: Spot) -> None:
        if mark.mark == "skipped":
            self._close(spot)
        elif mark.attempt is not None:
            self._attempts[spot] = max(self._attempts.get(spot, 1), mark.attempt + 1)
