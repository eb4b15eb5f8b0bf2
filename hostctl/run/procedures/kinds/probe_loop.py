"""A probe loop: the machine's own probe touches again and again; nobody is asked between.

A point is a block, a touch a trial, counted from 1 at each point. What else is to be known of a
touch follows from the study and its number, so that nothing of it is stored twice:

- the side it was come to from: `Loop.side(trial)`;
- whether the bed was heated: `HeatCycles.is_warm(trial)`;
- how often the axes had homed and the run stood still before it: `store/stretches.py`, from the
  record. Touches of one homing and one stretch can be held against each other; those of two differ
  by the homing too.

Each touch that gave no height is an event `touch failed`; each reading has its time, its place and
its temperatures.

What is decided is an event of kind `looked`, after a touch and before the next. Its data are
`{"loop": {...}}`, with `touches`, how many there were by then in all, and `verdict`, which says
what comes of it:

- `goes-on`: a look at how well the spread at a point is known; the loop goes on there;
- `known`: a look by which it is known well enough there, so that no more is touched there;
- `held`: a touch was beyond its control limits, and the run is held;
- `long-enough`: it went on for `longest_s`, and is over; `went_on_s` says how long, holds left out;
- `left-cold`: somebody said after a hold that the bed stays cold; the loop ends where it would be
  heated next.

With the first three, `block`, `point` and `trial` are those of the last touch. A look has `side`
(null: sides don't matter), `look` of `looks` (its number, and how many were laid down), `n`
(touches looked at), `known_to` and `half_width` (as shares of the spread, null where there is
none), `levels` (points and sides, which share the risk), and either `s_mm`, `low_mm`, `high_mm`
(with 95 % all looks at all levels hold together; those begun anew count by themselves) or what
speaks against stating any: `drift_mm`, `likeness` (of neighbours, -1 to 1) or `refused` (another
reason). What is held has `value_mm`, `centre_mm`, `lower_mm`, `upper_mm`, `moved` (whether the
centre had drifted before) and `breaks`.

Looks and limits are about touches of one level: at one point, from one side, of one homing and one
stretch, so both begin anew after a hold, a stop or a homing. Only where each touch is homed for is
homing a part of what scatters. The limits come from the first 50 touches of a level, and are not
held where the bed is warmed and cooled, since its height is meant to change.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, ClassVar

from hostctl.config.parts.loop import HeatCycles, Loop
from hostctl.config.study_kind import SHIPPED, KindWords
from hostctl.records import Place
from hostctl.run.procedures.looping.turns import Turns
from hostctl.run.procedures.looping.verdicts import was_left_cold
from hostctl.run.procedures.looping.watching import Watching
from hostctl.run.procedures.motions import (
    BringAndRead,
    ComeFrom,
    CoolBed,
    HomeAnew,
    LiftAway,
    StepDeed,
    SwitchOutput,
    WarmBed,
)
from hostctl.run.procedures.procedure import Finished, Kept, Next, ProcedureParts, SoFar, Trial

if TYPE_CHECKING:
    from hostctl.config.study import Study

METHOD = "probe-loop"


class ProbeLoop:
    """The probe lifts and goes to its point by itself."""

    words: ClassVar[KindWords] = SHIPPED["probe-loop"]

    @staticmethod
    def check(study: "Study") -> None:
        """Nobody is named, it is the probe that reads, and the section `loop` can be done."""
        from hostctl.config.checked import Misplaced

        for what, given in (("methods", study.methods), ("operators", study.operators)):
            if given:
                raise Misplaced("a probe loop asks nobody and has none", what)
        if study.gauge.kind != "probe":
            what = "a probe loop reads the probe"
            raise Misplaced(what, "gauge", "kind", next_step="Give 'kind: probe'.")
        if study.loop is not None:
            _check_loop(study, study.loop)

    @staticmethod
    def most_trials(study: "Study") -> int:
        """Every point so many times."""
        return len(study.points) * study.trials

    def __init__(self, parts: ProcedureParts) -> None:
        self._loop = parts.study.loop or Loop()
        self._turns = Turns(parts.study, METHOD, parts.seed, zeros=parts.zeros)
        self._watching = Watching(parts.study, parts.machine, touches=self.most_trials(parts.study))

    def hear(self, kept: Kept) -> None:
        """Each touch, once."""
        self._watching.hear(kept)

    def next(self, so_far: SoFar) -> Next:
        """The next touch, but for what the touches say so far."""
        decided = self._watching.decide(so_far)
        if decided is not None:
            return decided
        upcoming = self._turns.next(so_far, self._watching.is_known)
        if upcoming is None:
            return Finished(reason=self._why_over(so_far))
        if self._is_warm(upcoming.trial) and was_left_cold(so_far.decisions):
            return Finished(reason="the bed stays cold, and what is left has it heated")
        return upcoming

    def still_to_come(self, so_far: SoFar) -> Sequence[Trial]:
        """The next touch of each point that is not finished."""
        return self._turns.open(so_far)

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        """A touch, and what comes before it."""
        return (*self._before(place, so_far), BringAndRead(point=place.point))

    def _before(self, place: Place, so_far: SoFar) -> Iterator[StepDeed]:
        loop = self._loop
        if loop.heat is not None:
            yield self._heat(loop.heat, place.trial)
        if loop.probe_in is not None:
            yield SwitchOutput(output=loop.probe_in)
        if loop.home_every is not None and self._watching.since_homing(so_far) >= loop.home_every:
            yield HomeAnew()
        if loop.lift_away:
            yield LiftAway()
        if loop.sides or loop.probe_out is not None:
            side = loop.side(place.trial)
            yield ComeFrom(point=place.point, side=side, by_mm=loop.side_mm)
        if loop.probe_out is not None:
            yield SwitchOutput(output=loop.probe_out)

    def _why_over(self, so_far: SoFar) -> str:
        if self._turns.open(so_far):
            return "the spread is known well enough"
        return "all touches are done"

    def _is_warm(self, trial: int) -> bool:
        heat = self._loop.heat
        return heat is not None and heat.is_warm(trial)

    def _heat(self, heat: HeatCycles, trial: int) -> WarmBed | CoolBed:
        if heat.is_warm(trial):
            return WarmBed(bed_c=heat.bed_c, soak_s=heat.soak_s)
        return CoolBed(soak_s=heat.soak_s)


def _check_loop(study: "Study", loop: Loop) -> None:
    from hostctl.config.checked import Misplaced

    if loop.probe_in is not None and loop.probe_out is None:
        raise Misplaced("takes in a probe that nothing brings out", "loop", "probe_in")
    if study.reference != "datum" and (loop.home_every or loop.heat):
        what = "must be datum where the loop homes or heats between touches"
        raise Misplaced(what, "reference", next_step="Give 'reference: datum'.")
    if loop.known_to is not None:
        _check_known(loop)
    if loop.heat is not None:
        _check_heat(study, loop.heat)


def _check_known(loop: Loop) -> None:
    """How well a spread is known is asked of touches of one level."""
    from hostctl.config.checked import Misplaced

    if loop.heat is not None:
        what = "goes with a bed that stays as it is, not with loop.heat"
        raise Misplaced(what, "loop", "known_to")
    if (loop.home_every or 1) > 1:
        what = "goes with touches of one level: home for each of them, or between none"
        raise Misplaced(what, "loop", "known_to", next_step="Give 'home_every: 1', or none.")


def _check_heat(study: "Study", heat: HeatCycles) -> None:
    from hostctl.config.checked import Misplaced

    if study.warmth is not None:
        raise Misplaced("goes with a bed that is not warm all along", "loop", "heat")
    if study.trials != heat.trials:
        what = f"must be what the cycles of loop.heat come to, {heat.trials}"
        raise Misplaced(what, "trials", next_step=f"Give 'trials: {heat.trials}'.")
