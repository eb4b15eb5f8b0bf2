"""What messages hold. The JSON Schemas under `schemas/` are made from these types."""

from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Annotated, Any, ClassVar, Literal

from pydantic import ConfigDict, Field, TypeAdapter

from hostctl.channels.messages.event_kind import EventKind
from hostctl.deeds import Deed
from hostctl.news import PromptKind
from hostctl.run.record.report import RunReport
from hostctl.run.record.standing import Standing

Id = Annotated[str, Field(min_length=1, max_length=64)]
LengthMm = Annotated[float, Field(strict=True, ge=-1e6, le=1e6, allow_inf_nan=False)]
STRICT = ConfigDict(extra="forbid")


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """How the machine stands. `what` says in words what it does or why it stands still."""

    at: datetime
    """When this was said."""
    standing: Standing
    """How it stands, in one word."""
    what: str
    """What it does or why it stands still, in words."""
    stopped: bool
    """It holds because somebody pressed or sent STOP."""
    not_told: bool
    """A STOP did not reach the machine: it is to be switched off at the mains."""
    seconds_left: int | None
    """Of the countdown before motion."""
    run: int | None
    """The run that is going on."""
    study: str | None
    """The run's study."""
    trials_done: int | None
    """In the whole run."""
    trials_total: int | None
    """In the whole run."""
    queued: int
    """Starts that wait."""
    armed_until: datetime | None
    """Until then one start from afar is taken."""
    studies: tuple[str, ...]
    """What can be started."""
    heat: str
    """What is warm or heated, in words; empty: nothing, as far as is known."""
    view: dict[str, object]
    """All that is known of the machine now, as `hostctl reference view` describes it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptNow:
    """What is asked now; all but `text` and `answers` empty when nothing is."""

    prompt_id: str | None = None
    """Goes into the answer; null: nothing is asked."""
    kind: PromptKind | None = None
    """What kind of answer is wanted."""
    deed: Annotated[Deed, Field(discriminator="do")] | None = None
    """What `text` says, as data; `hands_in`: hands are in the machine until it is answered."""
    text: str = ""
    """The deed, in one sentence."""
    detail: str = ""
    """The rest."""
    moves_next: str = ""
    """What will move once the answer is in; empty: nothing will."""
    answers: tuple[str, ...] = ()
    """What would be taken by message, `hold` and `end` apart; for kind `choose` no choice is."""
    resolution_mm: float | None = None
    """Of the reading that is asked for."""
    typed_in_graduations: bool = False
    """True: a plain number counts graduations."""
    opened_at: datetime | None = None
    """When it was asked."""
    run: int | None = None
    """The run it belongs to."""
    block: int | None = None
    """Counted from 1."""
    trial: int | None = None
    """Counted from 1 in its block; 0: the block's zero."""
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingKept:
    """A reading, told once it is on disk. `id` is the same however often it is delivered."""

    id: Id
    """Of the message."""
    reading_id: int
    """Its number in the record."""
    run: int
    """The run it belongs to."""
    block: int
    """Counted from 1."""
    round: int
    """How often the block was begun: 2 after its zero was lost once."""
    trial: int
    """Counted from 1 in its block; 0: the block's zero."""
    attempt: int
    """How often the trial was made: 2 after a redo."""
    method: str
    """The way of setting the gap."""
    operator: str
    """Whose hands."""
    point: str
    """Where on the bed."""
    trials_done: int
    """In the whole run."""
    trials_total: int
    """In the whole run."""
    counts: bool
    """Whether it is one of those trials: a tie made within a study is not."""
    is_zero: bool
    """Whether it is the block's zero."""
    value_mm: float
    """What the gauge gave."""
    relative_mm: float | None
    """From the block's zero; null where that is not defined."""
    resolution_mm: float
    """The value stands for itself plus or minus half of this."""
    taken_at: datetime
    """When the gauge gave it."""
    source: str
    """The gauge."""
    x_mm: float
    """Where the nozzle was, as the machine reported it."""
    y_mm: float
    """As `x_mm`."""
    z_mm: float
    """As `x_mm`."""
    bed_c: float | None
    """What the machine said; null: it did not."""
    nozzle_c: float | None
    """What the machine said; null: it did not."""
    channel: str
    """By which way its answer came."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What happened, in one sentence. `id` is the same however often it is delivered."""

    id: Id
    """Of the message."""
    at: datetime
    """When it happened."""
    event: EventKind
    """What kind of thing."""
    text: str
    """What happened, in words."""
    run: int | None
    """The run it belongs to."""
    prompt_id: str | None = None
    """The prompt it is about."""
    channel: str | None = None
    """By which way it came."""
    report: RunReport | None = None
    """The report it is about: its file's name, and what was found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WordAnswer:
    """An answer in a word."""

    __pydantic_config__: ClassVar[ConfigDict] = STRICT

    answer: Literal["done", "redo", "skip", "hold", "end"]
    """The word."""
    prompt_id: Id | None = None
    """Of the prompt it answers; without it the rule for plain text holds."""
    id: Id | None = None
    """The sender's own, so that a repetition is known as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingAnswer:
    """What the indicator shows, or how thick the blade is that was asked for, in mm."""

    __pydantic_config__: ClassVar[ConfigDict] = STRICT

    reading_mm: LengthMm
    """What it shows, or how thick it is."""
    prompt_id: Id | None = None
    """Of the prompt it answers; without it the rule for plain text holds."""
    id: Id | None = None
    """The sender's own, so that a repetition is known as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Start a study; taken only while somebody at the machine has armed it."""

    __pydantic_config__: ClassVar[ConfigDict] = STRICT

    command: Literal["start"]
    study: Annotated[str, Field(min_length=1, max_length=100)]
    """Its name, one of `studies` in `state`."""
    seed: Annotated[int, Field(strict=True, ge=0)] | None = None
    """Of the random order."""
    id: Id | None = None
    """The sender's own, so that a repetition is known as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Resume:
    """Go on with a run that stopped; taken only while armed."""

    __pydantic_config__: ClassVar[ConfigDict] = STRICT

    command: Literal["resume"]
    run: Annotated[int, Field(strict=True, ge=1, le=2**62)]
    """Its number."""
    id: Id | None = None
    """The sender's own, so that a repetition is known as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """Hold the run. Whatever else the object holds is passed over: holding must never fail."""

    command: Literal["hold"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Halt the machine at once. Not an emergency stop: that is the mains switch.

    Whatever else the object holds is passed over: stopping must never fail.
    """

    command: Literal["stop"]


Answered = WordAnswer | ReadingAnswer
Commanded = Annotated[Start | Resume | Hold | Stop, Field(discriminator="command")]

BY_TOPIC: dict[str, Any] = {
    "state": State,
    "prompt": PromptNow,
    "reading": ReadingKept,
    "event": Event,
    "answer": Answered,
    "command": Commanded,
}


@cache
def adapter(topic: str) -> TypeAdapter[Any]:
    """Reads, writes and describes the JSON of a topic."""
    return TypeAdapter(BY_TOPIC[topic])


def json_text(topic: str, payload: State | PromptNow | ReadingKept | Event) -> str:
    """The payload as it goes out."""
    return adapter(topic).dump_json(payload).decode()
