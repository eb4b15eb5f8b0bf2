"""What a procedure proposes, looked at before anything of it is carried out.

A procedure may be a stranger's. What it gives back that is no step of the closed set, or that this
machine or this study can't have, is refused in one line: before a run begins it does not begin,
later on it is a hold. Nothing of a step is done unless all of it is in order.
"""

import json
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from hostctl.errors import PluginError
from hostctl.records import Place
from hostctl.run.procedures.motions import StepDeed
from hostctl.run.procedures.procedure import (
    OF_DECISIONS,
    PROCEDURES,
    Decision,
    Finished,
    HearingProcedure,
    Kept,
    Next,
    ProcedureParts,
    SoFar,
    StandStill,
    Trial,
)
from hostctl.run.procedures.rules import Rules

T = TypeVar("T")


class Proposals:
    """One study's procedure, asked; what it says is in order or refused (PluginError)."""

    def __init__(self, parts: ProcedureParts, *, gauge_is_typed: bool) -> None:
        """Raises PluginError where the study's kind is missing or broken."""
        kind = PROCEDURES.find(parts.study.kind)
        self._kind = parts.study.kind
        self.homing_breaks = parts.zeros or not kind.words.takes_zeros
        """Whether readings of a block that homing broke into can't be held against each other."""
        self._rules = Rules(
            study=parts.study,
            machine=parts.machine,
            words=kind.words,
            gauge_is_typed=gauge_is_typed,
        )
        self.hears = kind.words.keeps_few
        """Whether it is told of each reading, and keeps what it needs of them."""
        self.most_trials = self._asked(lambda: kind.most_trials(parts.study))
        self._procedure = self._asked(lambda: kind(parts))

    def next(self, so_far: SoFar) -> Next:
        """What comes next. Raises PluginError where it is nothing that can come."""
        proposed: object = self._asked(lambda: self._procedure.next(so_far))
        match proposed:
            case Trial():
                self._refuse(self._rules.faults_of(proposed, so_far))
                return proposed
            case Decision():
                return self._as_kept(proposed)
            case StandStill() | Finished():
                return proposed
            case _:  # a stranger's code may give anything
                raise self.refused(f"proposes {proposed!r:.60}, which is no step")

    def deeds(self, place: Place, so_far: SoFar) -> tuple[StepDeed, ...]:
        """How the step at `place` is carried out. Raises PluginError."""
        deeds = self._asked(lambda: tuple(self._procedure.deeds(place, so_far)))
        self._refuse(self._rules.faults_among(deeds, place))
        return deeds

    def hear(self, kept: Kept) -> None:
        """A reading is on disk. Raises PluginError."""
        procedure = self._procedure
        if not isinstance(procedure, HearingProcedure):
            raise self.refused("keeps few, but does not hear of readings")
        self._asked(lambda: procedure.hear(kept))

    def still_to_come(self, so_far: SoFar) -> Sequence[Trial]:
        """One trial of each block that is not finished. Raises PluginError."""
        return self._asked(lambda: tuple(self._procedure.still_to_come(so_far)))

    def refused(self, what: str) -> PluginError:
        """That the kind did what it must not, for whoever has to mend it."""
        return PluginError(
            f"study kind '{self._kind}'", what, "Mend the plug-in, or take another kind."
        )

    def _refuse(self, faults: Iterable[str]) -> None:
        fault = self._asked(lambda: next(iter(faults), None))
        if fault is not None:
            raise self.refused(fault)

    def _asked(self, ask: Callable[[], T]) -> T:
        try:
            return ask()
        except Exception as cause:  # a plug-in at work: one of the doors where all is caught
            raise self.refused(f"fails ({type(cause).__name__}: {cause})") from cause

    def _as_kept(self, decision: Decision) -> Decision:
        """As it comes back from disk: a run that never stopped goes by the very same."""
        try:
            data = json.loads(json.dumps(decision.data))
        except (TypeError, ValueError) as cause:
            raise self.refused(f"decides what can't be written down ({cause})") from cause
        if decision.kind not in OF_DECISIONS:
            raise self.refused(f"decides as '{decision.kind!s:.60}', which is no decision")
        return Decision(what=str(decision.what), data=data, kind=decision.kind)
