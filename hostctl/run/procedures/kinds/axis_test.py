"""An axis test: Z goes to target heights from both sides, and an indicator says where it came to.

One point, one block. A run of the test is a linear cycle as in ISO 230-2:2014: up the targets, each
come to from below, then down the targets, each come to from above. What a trial is follows from
the study and its number alone (`config/parts/axis.py`, `aim`), so nothing of it is stored twice:

- with both sides, n targets and k = trial - 1: run k // 2n + 1; its first n trials go up the
  targets, its last n down them;
- from above alone: run k // n + 1, down the targets.

What is read is the plunger, which counts the other way than the height or not: which way is asked
once, before the first reading (event `plunger sign`). Homing in between moves Z's own zero, so the
block begins again.

X and Y are not tested: an indicator would have to be touched sideways, below the clear height,
where the head may not move but straight up and down.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from hostctl.config.study_kind import SHIPPED, KindWords
from hostctl.deeds import PressPlunger
from hostctl.records import Place
from hostctl.run.procedures.motions import StepAndRead, StepDeed
from hostctl.run.procedures.procedure import (
    NO_OPERATOR,
    Finished,
    Next,
    ProcedureParts,
    SoFar,
    Trial,
)

if TYPE_CHECKING:
    from hostctl.config.study import Study

METHOD = "axis-test"
BLOCK = 1


class AxisTest:
    """Height after height, with the plunger on the bed all the while."""

    words: ClassVar[KindWords] = SHIPPED["axis-test"]

    @staticmethod
    def check(study: "Study") -> None:
        """It has heights, one point, an indicator, and as many trials as these come to."""
        from hostctl.config.checked import Misplaced

        if study.axis is None:
            raise Misplaced("is missing, and says what heights are tested", "axis")
        if study.methods:
            raise Misplaced("an axis test sets nothing and has none", "methods")
        if len(study.points) > 1:
            raise Misplaced("an axis test is made at one point", "points", 1)
        if len(study.operators) > 1:
            raise Misplaced("an axis test is read by one person", "operators", 1)
        if study.gauge.kind == "probe":
            what = "a probe ends where the bed is, not where the axis was sent"
            raise Misplaced(what, "gauge", "kind", next_step="Give an indicator.")
        if study.reference != "datum":
            what = "an axis test takes no zero; its readings are held against each other"
            raise Misplaced(what, "reference", next_step="Give 'reference: datum'.")
        if study.trials != study.axis.trials:
            what = f"must be what targets, sides and runs come to, {study.axis.trials}"
            raise Misplaced(what, "trials", next_step=f"Give 'trials: {study.axis.trials}'.")

    @staticmethod
    def most_trials(study: "Study") -> int:
        """Every target from each side in every run."""
        return study.trials

    def __init__(self, parts: ProcedureParts) -> None:
        study = parts.study
        assert study.axis is not None  # such a study is refused
        self._axis = study.axis
        self._overrun_mm = study.axis.overrun_mm
        self._trials = study.trials
        self._point = study.points[0]
        self._operator = study.operators[0] if study.operators else NO_OPERATOR

    def next(self, so_far: SoFar) -> Next:
        """The first height not yet read."""
        return next(
            (
                self._trial(number)
                for number in range(1, self._trials + 1)
                if (BLOCK, number) not in so_far.done
            ),
            Finished(reason="all targets are done"),
        )

    def still_to_come(self, so_far: SoFar) -> Sequence[Trial]:
        """The next height, for the only block."""
        upcoming = self.next(so_far)
        return [upcoming] if isinstance(upcoming, Trial) else []

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        """To the height and read; before that, once, which way the plunger counts."""
        aim = self._axis.aim(place.trial)
        step = StepAndRead(
            point=place.point,
            above_mm=aim.target_mm,
            coming_from=aim.coming_from,
            overrun_mm=self._overrun_mm,
            shows_mm=self._shows_mm(place.trial, so_far),
        )
        return (step,) if so_far.grows_pressed is not None else (PressPlunger(), step)

    def _trial(self, number: int) -> Trial:
        return Trial(
            block=BLOCK,
            trial=number,
            method=METHOD,
            operator=self._operator,
            point=self._point,
        )

    def _shows_mm(self, number: int, so_far: SoFar) -> float | None:
        """By the first reading of the block; None: there is none yet."""
        first = next(iter(so_far.kept.values()), None)
        if first is None or so_far.grows_pressed is None:
            return None
        was_mm = self._axis.aim(first.place.trial).target_mm
        pressed_mm = was_mm - self._axis.aim(number).target_mm
        return first.reading.value_mm + (pressed_mm if so_far.grows_pressed else -pressed_mm)
