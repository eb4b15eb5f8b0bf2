"""The view of a station: its machine as the daemon sees it, at one instant, frozen.

Terminal, phone page, messages and `hostctl status` show it, each in its own way. As JSON it is what
its fields say (`data.as_data`); the JSON Schema beside this file, and the list in the reference,
are made from these types. Keys may be added within a version; one that is taken away or comes to
mean something else makes the next.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from hostctl.channels.view.beside import BedView, LiveView, TraceView
from hostctl.choices import Choice
from hostctl.deeds import Deed, Direction
from hostctl.news import PromptKind
from hostctl.run.record.report import RunReport
from hostctl.run.record.standing import Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class ArmedView:
    """One start from afar is allowed."""

    by: str
    """Who or what at the machine allowed it."""
    until: datetime
    """When that runs out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunView:
    """The run that goes on."""

    run: int
    """Its number."""
    study: str
    """What is carried out."""
    trials_done: int
    """Kept or skipped so far."""
    trials_skipped: int = 0
    """So many of those were skipped."""
    trials_total: int
    """In the whole run."""
    seconds_left: float | None
    """Until its end, probably; null until its pace is known."""
    simulated: bool = False
    """Whether its machine is simulated: nothing real moves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceView:
    """Where in its study it is, or was last."""

    block: int
    """Counted from 1."""
    trial: int
    """Counted from 1 in its block; 0: the block's zero."""
    method: str
    """The way of setting the gap; empty where nothing is set."""
    operator: str
    """Whose hands; empty where nobody's."""
    point: str
    """Where on the bed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CountdownView:
    """Motion is about to begin; `hold` calls it off."""

    event: Literal["countdown"] = "countdown"
    """As in JSON lines, where the same is told."""
    seconds_left: int
    """Until it moves."""
    what: str
    """What will move."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptView:
    """What is asked now."""

    event: Literal["prompt"] = "prompt"
    """As in JSON lines, where the same is told."""
    prompt_id: str
    """Goes into the answer."""
    kind: PromptKind
    """What kind of answer is wanted."""
    deed: Deed
    """What `text` says, as data; `hands_in`: hands are in the machine until it is answered."""
    text: str
    """The deed, in one sentence."""
    detail: str
    """The rest."""
    hands_out: str = ""
    """The end of `detail` where something will move: it belongs right above the key."""
    moves_next: str
    """What will move once the answer is in; empty: nothing will."""
    answers: tuple[str, ...]
    """What would be taken, `hold` and `end` apart."""
    choices: tuple[Choice, ...]
    """One of these answers it: at the terminal, on the phone page or in JSON lines alone."""
    resolution_mm: float | None
    """Of the reading that is asked for."""
    typed_in_graduations: bool
    """True: a plain number counts graduations."""
    simulated_indicator_mm: float | None
    """What the indicator of a simulated machine shows."""
    simulated_contact: bool | None
    """Whether the nozzle of a simulated machine touches the plate, as its lamp shows."""
    turn_screw: str | None
    """The screw of the deed, where it is to turn one."""
    turn_deg: float | None
    """How far."""
    turn_direction: Direction | None
    """Seen from above."""
    opened_at: datetime
    """When it was asked."""
    redo_takes: int | None
    """The trial kept last, where `redo` takes that one again; null: it takes this one."""
    run: int | None = None
    """The run it belongs to; this and what follows is null where it belongs to no trial."""
    block: int | None = None
    """Counted from 1."""
    round: int | None = None
    """How often the block was begun: 2 after its zero was lost once."""
    trial: int | None = None
    """Counted from 1 in its block; 0: the block's zero."""
    attempt: int | None = None
    """How often the trial was made: 2 after a redo."""
    method: str | None = None
    """The way of setting the gap."""
    operator: str | None = None
    """Whose hands."""
    point: str | None = None
    """Where on the bed."""
    trials_done: int | None = None
    """In the whole run."""
    trials_total: int | None = None
    """In the whole run."""
    counts: bool | None = None
    """Whether it is one of those trials: a tie made within a study is not."""
    new_hands: bool = False
    """Whether another person or method sets than before, and nobody was asked for that."""

    @property
    def may_redo(self) -> bool:
        """Whether there is a trial to be done again."""
        return "redo" in self.answers

    @property
    def may_skip(self) -> bool:
        """Whether the trial may be left out."""
        return "skip" in self.answers


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishedView:
    """How the last run ended."""

    run: int
    """Its number."""
    complete: bool
    """All its trials are done; else it can be gone on with."""
    reason: str
    """Why it ended."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StationView:
    """How a station stands now. Its texts are for people; empty: there is nothing to say."""

    version: Literal[1] = 1
    """Of this description; keys may be added without another."""
    machine: str
    """Its name."""
    standing: Standing
    """How it stands, in one word."""
    headline: str
    """The deed or the standing in one or two words, to be read from a step away."""
    why_no_line: str = ""
    """Why the machine can't be reached."""
    halted: str = ""
    """That it was told to halt at once, on which channel, and what to do now."""
    own_job: str = ""
    """That the board runs a job that is not ours, and how it shows."""
    heat: str = ""
    """What is warm or heated, as far as is known."""
    notice: str = ""
    """What a person should know and no prompt says."""
    warnings: tuple[str, ...] = ()
    """What is wrong beside the run."""
    studies: tuple[str, ...] = ()
    """What can be started."""
    queued: int = 0
    """Starts that wait."""
    armed: ArmedView | None = None
    """That one start from afar is allowed; null: none is."""
    run: RunView | None = None
    """The run that goes on."""
    place: PlaceView | None = None
    """Where in its study it is, or was last."""
    prompt: PromptView | None = None
    """What is asked now; null: nothing is."""
    countdown: CountdownView | None = None
    """That motion is about to begin."""
    moving: str = ""
    """What moves now."""
    hold: str = ""
    """Why it stands still."""
    stopped: bool = False
    """It holds because somebody pressed or sent STOP."""
    not_told: bool = False
    """That STOP did not reach the machine: it is to be switched off at the mains."""
    taken_anew: int = 0
    """How many readings are void, and taken again, when it goes on."""
    readings_mm: tuple[float, ...] = ()
    """What counts of the block in hand, the newest last."""
    resolution_mm: float | None = None
    """Of those readings."""
    bed: BedView | None = None
    """The bed as a levelling measured it last, until the next run begins."""
    live: LiveView | None = None
    """What the indicator shows while a screw is turned."""
    trace: TraceView | None = None
    """All readings of a run that asks nobody; null in any other."""
    finished: FinishedView | None = None
    """How the last run ended, until the next begins."""
    report: RunReport | None = None
    """The report of the last run, until the next begins; null: there is none to be had."""
