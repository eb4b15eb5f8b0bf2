"""What messages hold. The JSON Schemas under `schemas/` are made from these types."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, ClassVar, Literal

from pydantic import ConfigDict, Field, TypeAdapter

from hostctl.deeds import Deed
from hostctl.records import PromptKind, Standing

Id = Annotated[str, Field(min_length=1, max_length=64)]
LengthMm = Annotated[float, Field(strict=True, ge=-1e6, le=1e6, allow_inf_nan=False)]
STRICT = ConfigDict(extra="forbid")


class EventKind(StrEnum):
    """What happened."""

    CONNECTED = "connected"  # to the broker
    THROWN_OFF = "thrown-off"  # the broker, again and again: somebody may use our client ids
    STARTED = "started"
    QUEUED = "queued"  # a start was taken
    REFUSED = "refused"  # an answer or command did not count
    MARKED = "marked"  # a trial was voided or skipped
    HOLD = "hold"
    HOLD_LIFTED = "hold-lifted"
    HALTED = "halted"  # a `stop` was taken
    FINISHED = "finished"
    DROPPED = "dropped"  # messages that waited too long for the broker


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """How the machine stands. `what` says in words what it does or why it stands still."""

    at: datetime
    standing: Standing
    what: str
    stopped: bool  # it holds because somebody pressed or sent STOP
    not_told: bool  # a STOP did not reach the machine: it is to be switched off at the mains
    seconds_left: int | None  # of the countdown before motion
    run: int | None
    study: str | None
    trials_done: int | None
    trials_total: int | None
    queued: int  # starts that wait
    armed_until: datetime | None  # until then one start from afar is taken
    studies: tuple[str, ...]  # what can be started
    heat: str  # what is warm or heated, in words; empty: nothing, as far as is known
    view: dict[str, object]  # all of it, as `hostctl status --json` tells it


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptNow:
    """What is asked now; all but `text` and `answers` empty when nothing is."""

    prompt_id: str | None = None
    kind: PromptKind | None = None
    deed: Annotated[Deed, Field(discriminator="do")] | None = None  # what `text` says, as data
    text: str = ""
    detail: str = ""
    moves_next: str = ""
    answers: tuple[str, ...] = ()  # what would be taken, `hold` and `end` apart
    resolution_mm: float | None = None
    typed_in_graduations: bool = False  # how a plain number is understood
    opened_at: datetime | None = None
    run: int | None = None
    block: int | None = None
    trial: int | None = None
    method: str | None = None
    operator: str | None = None
    point: str | None = None
    trials_done: int | None = None
    trials_total: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingKept:
    """A reading, told once it is on disk. `id` is the same however often it is delivered."""

    id: Id
    reading_id: int
    run: int
    block: int
    round: int
    trial: int
    attempt: int
    method: str
    operator: str
    point: str
    trials_done: int
    trials_total: int
    is_zero: bool
    value_mm: float
    relative_mm: float | None  # from the block's zero; null where that is not defined
    resolution_mm: float
    taken_at: datetime
    source: str
    x_mm: float
    y_mm: float
    z_mm: float
    bed_c: float | None
    nozzle_c: float | None
    channel: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What happened, in one sentence. `id` is the same however often it is delivered."""

    id: Id
    at: datetime
    event: EventKind
    text: str
    run: int | None
    prompt_id: str | None = None
    channel: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WordAnswer:
    """An answer in a word."""

    __pydantic_config__: ClassVar[ConfigDict] = STRICT

    answer: Literal["done", "redo", "skip", "hold", "end"]
    prompt_id: Id | None = None  # of the prompt it answers; without it the plain rule holds
    id: Id | None = None  # the sender's own, so that a repetition is known as one


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingAnswer:
    """What the indicator shows, in mm."""

    __pydantic_config__: ClassVar[ConfigDict] = STRICT

    reading_mm: LengthMm
    prompt_id: Id | None = None
    id: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Start a study; taken only while somebody at the machine has armed it."""

    __pydantic_config__: ClassVar[ConfigDict] = STRICT

    command: Literal["start"]
    study: Annotated[str, Field(min_length=1, max_length=100)]
    seed: Annotated[int, Field(strict=True, ge=0)] | None = None
    id: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Resume:
    """Go on with a run that stopped; taken only while armed."""

    __pydantic_config__: ClassVar[ConfigDict] = STRICT

    command: Literal["resume"]
    run: Annotated[int, Field(strict=True, ge=1, le=2**62)]
    id: Id | None = None


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
