"""Ties within a study: when one is due, what it consists of, and whether it still holds.

The first comes before anything is set. It is checked evenly on the way and once at the end, and
whenever the run stood still or the bed is much warmer or colder than it was. A check that finds the
tie moved becomes a new tie by further observations. Like all of a procedure this is a function of
the study and of what happened.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from statistics import fmean
from typing import TYPE_CHECKING

from hostctl.records import TIE_METHOD
from hostctl.run.procedures.motions import (
    BringAndRead,
    StepDeed,
    TieByBlock,
    TieByFeelers,
    TieByTouch,
)
from hostctl.run.procedures.procedure import (
    NO_OPERATOR,
    Decision,
    Finished,
    Json,
    Kept,
    SoFar,
    Trial,
)
from hostctl.run.procedures.tie_shift import Interval, Shift, shift_between
from hostctl.run.record.spots import Spot
from hostctl.store.rows import TIE_CHECKED

if TYPE_CHECKING:
    from hostctl.config.parts.tie import Tie
    from hostctl.config.study import Study


def tie_of(study: "Study") -> "Tie":
    """The study's tie, which one with reference `gap` has."""
    assert study.tie is not None
    return study.tie


def tie_points(study: "Study") -> list[str]:
    """Where it is made."""
    return list(tie_of(study).points or study.points)


def blocks_of_its_own(study: "Study") -> int:
    """How many blocks a study with ties between has beside theirs; 0: it has no ties between."""
    if study.reference != "gap" or study.kind != "comparison":
        return 0
    return len(study.methods) * len(study.operators) * len(study.points)


def tie_deeds(study: "Study", point: str) -> tuple[StepDeed, ...]:
    """One observation: the nozzle told of the surface, then the plunger reads the same place."""
    tie = tie_of(study)
    if tie.by == "touch":
        return TieByTouch(point=point), BringAndRead(point=point, above_mm=tie.plate_mm or 0.0)
    told = TieByFeelers(point=point) if tie.by == "feelers" else TieByBlock(point=point)
    return told, BringAndRead(point=point)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Round:
    """Going round all of the tie's points once. after: so many trials of the study were done."""

    number: int
    times: int
    after: int


class Tying:
    """The ties of one study; their blocks are numbered on from its own, one a point."""

    def __init__(self, study: "Study", *, blocks: int, trials: int) -> None:
        """blocks, trials: how many the study has of its own."""
        self._tie = tie_of(study)
        self._points = tie_points(study)
        self._blocks = blocks
        self._trials = trials
        self._operator = study.operators[0] if study.operators else NO_OPERATOR
        parts = self._tie.checks + 1
        self._checked_after = [ceil(trials * n / parts) for n in range(1, parts)]

    def before(self, upcoming: Trial | Finished, so_far: SoFar) -> Trial | Decision | Finished:
        """What comes before `upcoming`, the study's own next step; else that."""
        rounds = self._rounds(so_far)
        now = rounds[-1]
        if self._was_interrupted(now, so_far):
            why = "The tie is begun anew: the run stood still in its midst."
            return _begun(now.times, so_far, why)
        for point in self._points:
            step = self._at(point, now, so_far)
            if step is not None:
                return step
        why = self._why_due(now, so_far, over=isinstance(upcoming, Finished))
        if why:
            return _begun(self._tie.check_times, so_far, f"The tie is checked: {why}.")
        return upcoming

    # ------------------------------------------------------------ the tie that is under way

    def _rounds(self, so_far: SoFar) -> list[_Round]:
        first = _Round(number=0, times=self._tie.times, after=0)
        begun = [decision.data for decision in so_far.decisions if "tie_times" in decision.data]
        return [first] + [
            _Round(number=n, times=_count(data["tie_times"]), after=_count(data["trials_done"]))
            for n, data in enumerate(begun, start=1)
        ]

    def _at(self, point: str, now: _Round, so_far: SoFar) -> Trial | Decision | None:
        """What is still to be done at a point in this round."""
        block = self._block(now, point)
        open_ = (n for _, n in self._spots(now, point, so_far) if (block, n) not in so_far.done)
        trial = next(open_, None)
        if trial is not None:
            return Trial(
                block=block, trial=trial, method=TIE_METHOD, operator=self._operator, point=point
            )
        if now.number and block not in _judged(so_far):
            return self._judge(point, now, so_far)
        return None

    def _was_interrupted(self, now: _Round, so_far: SoFar) -> bool:
        spots = [spot for point in self._points for spot in self._spots(now, point, so_far)]
        if all(spot in so_far.done for spot in spots):
            return False
        return self._is_older_than_break(now, so_far)

    def _is_older_than_break(self, now: _Round, so_far: SoFar) -> bool:
        """Whether any of it was observed before the run last stood still."""
        spots = [spot for point in self._points for spot in self._spots(now, point, so_far)]
        return any(spot in so_far.kept and spot not in so_far.since_break for spot in spots)

    # ------------------------------------------------------------ whether it still holds

    def _judge(self, point: str, now: _Round, so_far: SoFar) -> Decision | None:
        """Its observations against all since the tie last moved; None where they are too few."""
        moved = _moved(so_far)
        earlier = [each for each in self._rounds(so_far) if each.number < now.number]
        moves = [each.number for each in earlier if self._block(each, point) in moved]
        since = [each for each in earlier if each.number >= max(moves, default=0)]
        before = [one for each in since for one in self._constants(each, point, so_far)]
        shift = shift_between(before, self._constants(now, point, so_far))
        return None if shift is None else self._as_decision(shift, point, now, so_far)

    def _as_decision(self, shift: Shift, point: str, now: _Round, so_far: SoFar) -> Decision:
        block = self._block(now, point)
        doubted = [kept.place for kept in self._since_good(point, block, so_far)]
        chance = f"the ±{shift.limit_mm:.3f} mm that chance makes"
        by = f"by {shift.shift_mm:+.3f} mm"
        what = f"The tie at {point} holds: it differs {by}, within {chance}."
        if shift.moved:
            what = (
                f"The tie at {point} moved {by}, more than {chance}. {len(doubted)} readings since "
                "it last held are marked, and kept; a new tie counts from here."
            )
        data: dict[str, Json] = {
            "block": block,
            "point": point,
            "shift_mm": round(shift.shift_mm, 6),
            "limit_mm": round(shift.limit_mm, 6),
            "moved": shift.moved,
            "doubted": [
                [place.block, place.round, place.trial, place.attempt]
                for place in doubted
                if shift.moved
            ],
        }
        return Decision(what=what, data=data, kind=TIE_CHECKED)

    def _constants(self, of: _Round, point: str, so_far: SoFar) -> list[Interval]:
        observed = []
        for spot in self._spots(of, point, so_far):
            kept, contact = so_far.kept.get(spot), so_far.contacts.get(spot)
            if kept is not None and contact is not None:
                grows = bool(so_far.grows_pressed)
                observed.append(contact.constant_mm(kept.reading, grows_pressed=grows))
        return observed

    def _since_good(self, point: str, block: int, so_far: SoFar) -> list[Kept]:
        """The study's readings that hang on the tie at `point` since it was last seen to hold."""
        good = _judged(so_far) | {self._block(self._rounds(so_far)[0], point)}
        found = []
        for (of, _), kept in reversed(list(so_far.kept.items())):
            if of in good and kept.place.point == point and of > self._blocks:
                break
            mine = kept.place.point == point or kept.place.point not in self._points
            if of <= self._blocks and of != block and mine:
                found.append(kept)
        return found[::-1]

    # ------------------------------------------------------------ when it is due again

    def _why_due(self, now: _Round, so_far: SoFar, *, over: bool) -> str:
        """Why it is to be checked; empty: it is not."""
        since = self._since_last_tie(so_far)
        if over:
            return "all trials are done" if since else ""
        if self._is_older_than_break(now, so_far):
            return "the run stood still"
        if any(now.after < count <= so_far.trials_done for count in self._checked_after):
            return f"{so_far.trials_done} of {self._trials} trials are done"
        return self._why_stale(now, since, so_far)

    def _why_stale(self, now: _Round, since: Sequence[Kept], so_far: SoFar) -> str:
        spots = [spot for point in self._points for spot in self._spots(now, point, so_far)]
        at_tie = [
            so_far.kept[spot].reading.temperatures.bed_c for spot in spots if spot in so_far.kept
        ]
        known = [bed_c for bed_c in at_tie if bed_c is not None]
        bed_c = since[0].reading.temperatures.bed_c if since else None
        if not known or bed_c is None or abs(bed_c - fmean(known)) <= self._tie.stale_k:
            return ""
        return f"the bed is at {bed_c:.1f} °C and was at {fmean(known):.1f} °C"

    def _since_last_tie(self, so_far: SoFar) -> list[Kept]:
        """The study's readings since, the last one first."""
        found = []
        for block, trial in reversed(list(so_far.kept)):
            if block > self._blocks:
                break
            found.append(so_far.kept[block, trial])
        return found

    # ------------------------------------------------------------ numbers

    def _block(self, of: _Round, point: str) -> int:
        return self._blocks + 1 + of.number * len(self._points) + self._points.index(point)

    def _spots(self, of: _Round, point: str, so_far: SoFar) -> Iterator[Spot]:
        block = self._block(of, point)
        times = self._tie.times if block in _moved(so_far) else of.times
        yield from ((block, trial) for trial in range(1, max(times, of.times) + 1))


def _begun(times: int, so_far: SoFar, why: str) -> Decision:
    """That the tie's points are gone round once more, `times` at each."""
    return Decision(what=why, data={"tie_times": times, "trials_done": so_far.trials_done})


def _checks(so_far: SoFar) -> Iterator[Decision]:
    yield from (decision for decision in so_far.decisions if decision.kind == TIE_CHECKED)


def _judged(so_far: SoFar) -> set[int]:
    """The blocks that were held against what was before."""
    return {_count(decision.data["block"]) for decision in _checks(so_far)}


def _moved(so_far: SoFar) -> set[int]:
    return {_count(each.data["block"]) for each in _checks(so_far) if each.data["moved"]}


def _count(data: object) -> int:
    assert isinstance(data, int)
    return data
