"""What goes into the store and what comes back, row by row."""

import re
from dataclasses import dataclass
from datetime import datetime

from hostctl.records import Place, Reading

_SIMULATED = re.compile(r"^port:\s*[\"']?sim://", re.MULTILINE)
THERMAL_FAULT = "thermal fault"
LOOKED_AT = "thermal fault looked at"
"""Kinds of events, of a run or of a machine at rest; their data name the machine."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewRun:
    """One execution of a study, as it begins. The texts are the whole files, kept for good."""

    study: str
    title: str
    kind: str
    machine: str
    reference: str
    study_text: str
    machine_text: str
    seed: int
    started_at: datetime
    program: str  # our version

    @property
    def simulated(self) -> bool:
        """Whether its printer was a simulated one."""
        return _SIMULATED.search(self.machine_text) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class NewReading:
    """One reading with its context."""

    place: Place
    is_zero: bool
    reading: Reading
    prompted_at: datetime | None  # None: nobody was asked (a probe)
    answered_at: datetime | None
    channel: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NewMark:
    """A trial voided or skipped; trial None: all trials of that block and round."""

    run: int
    block: int
    round: int
    trial: int | None
    attempt: int | None
    mark: str  # "void" or "skipped"
    reason: str
    at: datetime


VERDICT_GIVEN = "verdict given"
"""The kind of event that says so of the readings as they stood; see `looks`."""

ANSWERED = "answered"
"""The kind of event that says that a prompt was answered, and how."""

REPORT_MADE = "report made"
"""The kind of event that says so of a run as it stood; its text is the answer, its data name the
file."""

HOMED = "homed"
"""The kind of event that says that all axes homed; its text is `anew` where the study asked."""

HOLD_LIFTED = "hold lifted"
RESUMED = "resumed"
"""Kinds of the events that say that a run went on after it stood still."""

TOUCH_FAILED = "touch failed"
"""The kind of event that says so of one touch of a probe; it was done again."""

TIE_CONTACT = "tie contact"
"""The kind of event that says where the nozzle touched, or what lay under it, before its reading;
its data: block, round, trial, attempt, point, by, open_z_mm, closed_z_mm, between_low_mm,
between_high_mm, plunger_z_mm, set_z_mm, reading_z_mm."""

PLUNGER_SIGN = "plunger's sign"
"""The kind of event that says whether the number grows as the plunger is pressed in; its data:
grows_pressed."""

TIE_CHECKED = "tie checked"
"""The kind of event that says whether a tie still holds at a point; its data: block, point,
shift_mm, limit_mm, moved, and where it moved, doubted: [block, round, trial, attempt] of each
reading since the last good check."""

LEVELLED = "levelled"
"""Kind of the event that a round of levelling was judged: `run/procedures/kinds/level.py` has what
its data hold."""

LOOKED = "looked"
"""Kind of the event that a probe loop looked at what it has, and what it decided by it."""

TIE_REFUSED = "tie refused"
"""The kind of event that says why no tie was made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEvent:
    """Something that happened: hold, resume, fault, refused answer, end. `data` is JSON."""

    run: int | None
    at: datetime
    kind: str
    text: str
    data: str = "{}"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptReport:
    """A report that was made of a run: its file's name, and what was found."""

    file_name: str
    answer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredReading:
    """A reading as it came back. `void` says why it does not count, None when it does."""

    reading_id: int
    stored_at: datetime
    kept: NewReading
    void: str | None
    relative_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSummary:
    """A run in the list of runs."""

    run: int
    new: NewRun
    readings: int
    void: int
    ended_at: datetime | None
    complete: bool
    end_reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """Where and how warm a run was read, and how many of its readings count, zeros apart."""

    counting: int
    points: frozenset[str]
    bed_c: float | None  # on average; None: the machine did not say


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRecord:
    """All that is known of one run."""

    summary: RunSummary
    readings: list[StoredReading]
    marks: list[NewMark]
    events: list[NewEvent]
