"""Levelling: the bed is measured, its screws are turned as advised, and it is measured again.

What each round decides, and what its data hold: `run/procedures/levelling/deciding.py`; how rounds
are numbered: `rounds.py` there. A warm bed is looked at first until it is still, and again once the
run stood still, when it may have cooled.
"""

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING, ClassVar

from hostctl.config.grid import level_of, level_points
from hostctl.config.study_kind import SHIPPED, KindWords
from hostctl.deeds import PressPlunger, TurnScrew
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.records import Place
from hostctl.run.procedures.levelling.places import farthest, nearest
from hostctl.run.procedures.levelling.reach import reach_of
from hostctl.run.procedures.levelling.reading import read_of
from hostctl.run.procedures.levelling.rounds import METHOD, Rounds
from hostctl.run.procedures.levelling.stillness import Looks
from hostctl.run.procedures.levelling.turns import (
    JUMPED,
    TURN,
    Turn,
    asked_deg,
    levelled,
    turns_of,
)
from hostctl.run.procedures.motions import (
    BringAndRead,
    BringGauge,
    GoOver,
    HomeAnew,
    Rest,
    StepDeed,
)
from hostctl.run.procedures.procedure import (
    NO_OPERATOR,
    Decision,
    Finished,
    Next,
    ProcedureParts,
    SoFar,
    Trial,
)

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew, Point
    from hostctl.config.study import Study
    from hostctl.run.procedures.levelling.judging import Judging


class Levelling:
    """Measures, advises, has screws turned, and measures again."""

    words: ClassVar[KindWords] = SHIPPED["level"]

    @staticmethod
    def check(study: "Study") -> None:
        """Nothing is set by a method, and heights are told by how they repeat."""
        from hostctl.config.checked import Misplaced

        if study.methods:
            raise Misplaced("a levelling sets no gap and has none", "methods")
        if study.reference != "first":
            raise Misplaced("a levelling needs no other than 'first'", "reference")
        if study.trials < 2:
            raise Misplaced("at least 2 passes tell how heights repeat", "trials")
        level = study.level
        if study.warmth is not None and (level is None or level.still is None):
            raise Misplaced(
                "is needed with 'warmth': when the bed counts as still", "level", "still"
            )

    @staticmethod
    def most_trials(study: "Study") -> int:
        """Every round measured and turned; a screw a point is what it is reckoned by."""
        level, points = level_of(study), len(level_points(study))
        assert level is not None
        return level.most_rounds * (points * study.trials + 1)

    def __init__(self, parts: ProcedureParts) -> None:
        study, machine = parts.study, parts.machine
        level = level_of(study)
        assert level is not None
        self._level = level
        self._operator = study.operators[0] if study.operators else NO_OPERATOR
        self._reach = reach_of(study, machine)
        self._rounds = Rounds(
            points=level_points(study),
            passes=study.trials,
            most=level.most_rounds,
            zeros=self._reach.free_above_mm is not None,
        )
        places = {point.name: point for point in machine.points}
        self._points = {name: places[name] for name in self._rounds.points}
        self._screws = {screw.name: screw for screw in machine.screws}
        self._places: dict[str, Point | BedScrew] = {**places, **self._screws}
        still = level.still if study.warmth is not None else None
        self._looks = Looks(block=self._rounds.warming, still=still) if still else None

    @cached_property
    def _judging(self) -> "Judging":
        """Loaded once something is to be judged: naming the kind of a study needs no sums."""
        from hostctl.run.procedures.levelling.judging import Judging

        return Judging(
            level=self._level,
            screws=[one for one in self._screws.values() if one.name != self._level.slackened],
            points=self._points,
            places=self._places,
            rounds=self._rounds,
            reach=self._reach,
        )

    # ------------------------------------------------------------ what comes next

    def next(self, so_far: SoFar) -> Next:
        """The next reading or turn, what a round decides, or that all is done."""
        told = levelled(so_far.decisions)
        unmet = [each for each in so_far.decisions if "unmet" in each.data]
        if unmet and unmet[-1] not in told:
            return Finished(reason=unmet[-1].what)
        if told and (over := self._over(told)) is not None:
            return over
        if (waiting := self._waiting(so_far)) is not None:
            return waiting
        if told and (turn := self._open_turn(told, so_far)) is not None:
            return turn
        return self._measured(len(told) + 1, so_far)

    def still_to_come(self, so_far: SoFar) -> Sequence[Trial]:
        """The round that is being measured: a homing between its readings would shift them."""
        told = levelled(so_far.decisions)
        number = len(told) + 1
        is_over = bool(told) and self._over(told) is not None
        if is_over or self._rounds.open_reading(number, so_far) is None:
            return []
        return [self._reading(number, self._rounds.trials)]

    def _waiting(self, so_far: SoFar) -> Trial | Decision | None:
        if self._looks is None:
            return None
        look = self._looks.next(so_far)
        return self._trial(self._looks.block, look) if isinstance(look, int) else look

    def _over(self, told: Sequence[Decision]) -> Finished | None:
        """Whether nothing more is to be turned or measured."""
        verdicts = [decision.data["verdict"] for decision in told]
        if verdicts[-1] == JUMPED and verdicts[-2:-1] != [JUMPED]:
            again = True
        else:
            again = verdicts[-1] == TURN
        if not again:
            return Finished(reason=told[-1].what)
        if len(told) >= self._level.most_rounds:
            rounds = f"all {len(told)} rounds are done"
            return Finished(reason=f"{rounds}. {told[-1].what}")
        return None

    def _open_turn(self, told: Sequence[Decision], so_far: SoFar) -> Trial | None:
        """The next turn of the round decided last, or homing after them.

        None: they are made, there are none, or the run stood still meanwhile: nobody knows then
        how far screws were turned, so it is measured anew and no turn is asked for twice.
        """
        number, turns = len(told), turns_of(told[-1])
        if told[-1].data["verdict"] != TURN:
            return None
        if self._rounds.stood_still_since(number, so_far):
            return None
        block = self._rounds.turning(number)
        trials = range(1, len(turns) + 2)
        open_ = next((trial for trial in trials if (block, trial) not in so_far.done), None)
        if open_ is None:
            return None
        point = self._over_screw(turns[open_ - 1]) if open_ <= len(turns) else self._first
        return self._trial(block, open_, point)

    def _measured(self, number: int, so_far: SoFar) -> Trial | Decision:
        """The next reading of a round, or what it decides."""
        open_ = self._rounds.open_reading(number, so_far)
        if open_ is not None:
            return self._reading(number, open_)
        from hostctl.run.procedures.levelling import saying
        from hostctl.run.procedures.levelling.deciding import decision_of

        try:
            *_, judged = self._judging.judged(number, so_far)
        except NotEnough:
            read = read_of(number, self._rounds, self._reach, so_far)
            what = saying.too_few_met(number, read, self._reach)
            return Decision(what=what, data={"unmet": list(read.unmet)})
        broken_off = self._was_broken_off(number, so_far)
        return decision_of(judged, self._judging, broken_off=broken_off)

    # ------------------------------------------------------------ how a step goes

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        """A look at the warm bed, a reading, a turn, or homing."""
        if self._looks is not None and place.block == self._looks.block:
            return self._to_look(self._looks, place, so_far)
        if self._rounds.is_measured(place.block):
            return tuple(self._to_read(place, so_far))
        turns = turns_of(levelled(so_far.decisions)[-1])
        if place.trial > len(turns):
            return (HomeAnew(),)
        turn = turns[place.trial - 1]
        return self._brought_to_turn(place, turn), self._turn(turn)

    def _to_look(self, looks: Looks, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        if not looks.begins(so_far):
            rest = Rest(rest_s=looks.still.look_every_s)
            return rest, self._brought(place.point, slowly=False)
        number = len(levelled(so_far.decisions)) + 1
        home = (HomeAnew(),) if self._was_broken_off(number, so_far) else ()
        return (*home, self._brought(place.point, slowly=True))

    def _to_read(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        number = (place.block + 1) // 2
        homes = place.trial == self._first_trial and self._was_broken_off(number, so_far)
        home = (HomeAnew(),) if homes else ()
        if place.trial == 0:
            above_mm = self._reach.free_above_mm or 0.0
            sign = (PressPlunger(),) if so_far.grows_pressed is None else ()
            return (*sign, *home, BringAndRead(point=place.point, above_mm=above_mm))
        read = [trial for block, trial in so_far.since_break if block == place.block and trial]
        return (*home, self._brought(place.point, slowly=not read))

    def _brought(self, point: str, *, slowly: bool) -> BringAndRead:
        return BringAndRead(point=point, above_mm=self._reach.above_mm, slowly=slowly)

    def _brought_to_turn(self, place: Place, turn: Turn) -> StepDeed:
        """The gauge over the screw where it shows something; else the head high up and away."""
        if self._reach.lowest_mm is not None:
            return BringGauge(point=place.point, above_mm=self._reach.above_mm)
        points = list(self._points.values())
        return GoOver(point=farthest(self._screws[turn.screw], points).name)

    def _turn(self, turn: Turn) -> TurnScrew:
        return TurnScrew(
            screw=turn.screw,
            turn_deg=asked_deg(turn),
            direction=turn.direction,
            seen_from=self._screws[turn.screw].seen_from.value,
            target_mm=turn.target_mm,
        )

    # ------------------------------------------------------------ where in it

    @property
    def _first(self) -> str:
        return self._rounds.points[0]

    @property
    def _first_trial(self) -> int:
        return 0 if self._rounds.zeros else 1

    def _was_broken_off(self, number: int, so_far: SoFar) -> bool:
        """Whether turns before this round were asked for, and not all made in one go."""
        told = levelled(so_far.decisions)
        if number < 2 or told[number - 2].data["verdict"] != TURN:
            return False
        turns = len(turns_of(told[number - 2]))
        return not self._rounds.is_turned(number - 1, turns, so_far)

    def _over_screw(self, turn: Turn) -> str:
        return nearest(self._screws[turn.screw], list(self._points.values())).name

    def _reading(self, number: int, trial: int) -> Trial:
        block = self._rounds.measured(number)
        return self._trial(block, trial, self._rounds.point_of(trial))

    def _trial(self, block: int, trial: int, point: str | None = None) -> Trial:
        return Trial(
            block=block,
            trial=trial,
            method=METHOD,
            operator=self._operator,
            point=point or self._first,
        )
