"""The view of a station: its machine as the daemon sees it, at one instant, frozen.

Terminal, phone page, messages and `hostctl status` show it, each in its own way. As JSON it is what
its fields say (`data.as_data`); the JSON Schema beside this file is made from these types. Keys may
be added within a version; one that is taken away or comes to mean something else makes the next.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from hostctl.deeds import Deed
from hostctl.records import Place, PromptKind, RunFinished, Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class ArmedView:
    """Who allowed one start from afar, and until when."""

    by: str
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class RunView:
    """The run that goes on, and how far it has come."""

    run: int
    study: str
    trials_done: int
    trials_total: int
    seconds_left: float | None  # of the whole run, probably; null until its pace is known


@dataclass(frozen=True, slots=True, kw_only=True)
class CountdownView:
    """Motion starts in `seconds_left`; `what` will move."""

    event: Literal["countdown"] = "countdown"  # as in JSON lines, where this is said too
    seconds_left: int
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptView:
    """What is asked now. From `run` to `trials_total` null where it belongs to no trial."""

    event: Literal["prompt"] = "prompt"  # as in JSON lines, where this is said too
    prompt_id: str
    kind: PromptKind
    deed: Deed  # what is to be done, and whether hands are in the machine until it is answered
    text: str  # the same in one sentence
    detail: str
    moves_next: str  # what will move once the answer is in; empty: nothing
    answers: tuple[str, ...]  # what would be taken, `hold` and `end` apart
    resolution_mm: float | None  # of the number that is asked for
    typed_in_graduations: bool  # how a plain number is understood
    simulated_indicator_mm: float | None  # what a simulated machine's indicator shows
    turn_screw: str | None  # these three as in the deed, where it is to turn a screw
    turn_deg: float | None
    turn_direction: str | None
    opened_at: datetime
    redo_takes: int | None  # the trial kept last, which `redo` takes again; null: this one
    run: int | None = None
    block: int | None = None
    round: int | None = None
    trial: int | None = None
    attempt: int | None = None
    method: str | None = None
    operator: str | None = None
    point: str | None = None
    trials_done: int | None = None
    trials_total: int | None = None

    @property
    def may_redo(self) -> bool:
        """Whether there is a trial to be done again."""
        return "redo" in self.answers

    @property
    def may_skip(self) -> bool:
        """Whether the trial may be left out."""
        return "skip" in self.answers


@dataclass(frozen=True, slots=True, kw_only=True)
class StationView:
    """How a station stands now. Its texts are for people; empty: there is nothing to say."""

    version: Literal[1] = 1
    machine: str
    standing: Standing
    headline: str  # the deed or the standing in one or two words, to be read from a step away
    why_no_line: str = ""
    own_job: str = ""  # that the board runs a job that is not ours, and how it shows
    heat: str = ""  # what is warm or heated
    notice: str = ""  # what a person should know and no prompt says
    warnings: tuple[str, ...] = ()  # what is wrong beside the run
    studies: tuple[str, ...] = ()  # what can be started
    queued: int = 0  # starts that wait
    armed: ArmedView | None = None
    run: RunView | None = None
    place: Place | None = None  # where in its study it was last
    prompt: PromptView | None = None
    countdown: CountdownView | None = None
    moving: str = ""  # what moves now
    hold: str = ""  # why it stands still
    stopped: bool = False  # by a STOP
    not_told: bool = False  # which did not reach the machine: it is to be switched off at the mains
    taken_anew: int = 0  # so many readings are void, and taken again, when it goes on
    readings_mm: tuple[float, ...] = ()  # what counts of the block in hand, the newest last
    resolution_mm: float | None = None  # theirs
    finished: RunFinished | None = None  # how the last run ended, until the next begins
