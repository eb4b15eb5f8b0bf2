"""A procedure: what a study of one kind does next, and how. It proposes; the run carries out.

A procedure never gets hold of the machine, of heaters or of a prompt: it is given what happened,
and gives back records from a closed set. The run checks them (`proposals.py`) and carries them
out (`run/steps/cycle.py`). All that it does is a function of the study, the seed and what happened,
so that a run which stopped goes on as if it never had.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from hostctl.config.study_kind import StudyKind
from hostctl.plugins import Kind
from hostctl.records import Place, Reading, TieContact
from hostctl.run.procedures.motions import StepDeed
from hostctl.run.record.spots import Spot, SpotsSeen
from hostctl.store.rows import LEVELLED, LOOKED, TIE_CHECKED

if TYPE_CHECKING:
    from hostctl.config.machine import Machine
    from hostctl.config.study import Study

Json = str | int | float | bool | None | Sequence["Json"] | Mapping[str, "Json"]

DECIDED = "decided"
"""The kind of the event that keeps a decision, where it has none of its own."""
OF_DECISIONS = frozenset({DECIDED, TIE_CHECKED, LEVELLED, LOOKED})
"""The kinds of the events that keep decisions."""

NO_OPERATOR = ""
"""Nobody's hands: a probe loop, or a rig check that names no operator."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One step to be done. Trial 0 of a block is its zero; the others count from 1."""

    block: int
    trial: int
    method: str
    operator: str
    point: str

    @property
    def spot(self) -> Spot:
        """Where in the study it stands, whatever round or attempt."""
        return self.block, self.trial


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """Something decided by what was read, to be kept before anything comes of it.

    what: a sentence for people. data: as much as the procedure needs to go on by it. kind: of the
    event that keeps it.
    """

    what: str
    data: Mapping[str, Json]
    kind: str = DECIDED


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished:
    """Nothing is left to be done, and why."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StandStill:
    """The run is to be held until an operator lets it go on, and why; a decision says so first."""

    reason: str


Next = Trial | Decision | StandStill | Finished


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A reading on disk, and where in the study it was taken.

    homings, breaks: how often, up to then, the axes homed and the run stood still.
    """

    place: Place
    reading: Reading
    homings: int = 1
    breaks: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class SoFar:
    """All that happened in a run and counts; what is void or was skipped is not among `kept`.

    kept: the readings, zeros among them, in the order taken.  done: what is kept, skipped, or
    carried out where nothing is read.  rounds: how often a block was begun, where more than once.
    attempts: which attempt is the present one, where not the first.  decisions: in the order taken.
    trials_done: how many of the study's own are.  contacts: what came before each reading of a tie.
    grows_pressed: whether the number grows as the plunger is pressed in; None: nobody said yet.
    since_break: what was kept since the run last stood still (on hold, or not running at all).
    breaks: how often it stood still; after a stop it may be counted higher, never lower.
    homings: how often the axes homed.  Of a kind that keeps few, only zeros are in `kept`.
    """

    kept: Mapping[Spot, Kept]
    done: SpotsSeen
    rounds: Mapping[int, int]
    attempts: Mapping[Spot, int]
    decisions: Sequence[Decision]
    trials_done: int = 0
    contacts: Mapping[Spot, TieContact] = field(default_factory=dict)
    grows_pressed: bool | None = None
    since_break: Collection[Spot] = ()
    breaks: int = 0
    homings: int = 0

    def values_mm(self, block: int) -> list[float]:
        """What counts of one block, as the gauge gave it, its zero left out."""
        return [
            kept.reading.value_mm
            for (of, trial), kept in self.kept.items()
            if of == block and trial > 0
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcedureParts:
    """What a procedure is made from. zeros: whether each block begins with its zero, trial 0."""

    study: "Study"
    machine: "Machine"
    seed: int
    zeros: bool


class Procedure(Protocol):
    """One study's procedure on one machine."""

    def next(self, so_far: SoFar) -> Next:
        """What comes next: a step, a decision to be kept first, or nothing more."""
        ...

    def still_to_come(self, so_far: SoFar) -> Sequence[Trial]:
        """One trial of each block that is not finished; homing makes those begun begin again."""
        ...

    def deeds(self, place: Place, so_far: SoFar) -> Sequence[StepDeed]:
        """How the step at `place` is carried out, in order."""
        ...


@runtime_checkable
class HearingProcedure(Procedure, Protocol):
    """The procedure of a kind that keeps few: it is told of each reading, and keeps what it needs.

    After a stop it is told of what is on record, in the same order.
    """

    def hear(self, kept: Kept) -> None:
        """A reading is on disk, a zero perhaps."""
        ...


class ProcedureKind(StudyKind["Study"], Protocol):
    """A kind of study, as a run needs to know it. A class with these and `Procedure` is one."""

    def most_trials(self, study: "Study") -> int:
        """How many trials it takes at most; the zeros are not counted."""
        ...

    def __call__(self, parts: ProcedureParts) -> Procedure:
        """The procedure of one study."""
        ...


PROCEDURES: Kind[ProcedureKind] = Kind("hostctl.study_kinds")


def most_trials(study: "Study") -> int | None:
    """How many trials a study takes at most, to be shown; None where its kind fails to say."""
    try:
        return PROCEDURES.find(study.kind).most_trials(study)
    except Exception:  # a plug-in at work: one of the doors where all is caught
        return None
