"""What is asked, answered and told while a run goes on: frozen records that travel."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from hostctl.choices import Choice, choices_of
from hostctl.deeds import (
    ChangeHands,
    Deed,
    ReadIndicator,
    SendReading,
    SetGap,
    TryBlade,
    ZeroIndicator,
)
from hostctl.records import Place, Reading


class PromptKind(StrEnum):
    """What a prompt asks for, as far as the answer goes."""

    CONFIRM = "confirm"
    """Look, clear your hands, confirm."""
    SET = "set"
    """Set the gap with the method."""
    ZERO = "zero"
    """Bring the indicator to zero (or type what it shows)."""
    READ = "read"
    """Read the indicator, or say how thick a blade is."""
    SEND = "send"
    """Press the button that has the gauge send what it shows: the gauge alone answers."""
    CHOOSE = "choose"
    """Say which of several it is; see the prompt's choices."""


def kind_of(deed: Deed) -> PromptKind:
    """What a prompt with this deed asks for."""
    match deed:
        case SetGap():
            return PromptKind.SET
        case ZeroIndicator():
            return PromptKind.ZERO
        case ReadIndicator() | TryBlade():
            return PromptKind.READ
        case SendReading():
            return PromptKind.SEND
        case _:
            return PromptKind.CHOOSE if choices_of(deed) else PromptKind.CONFIRM


@dataclass(frozen=True, slots=True, kw_only=True)
class Prompt:
    """What the operator is asked now: the deed as data; in a sentence, `text`; `detail` the rest.

    `hands_out` is the end of `detail` where something moves once the answer is in: it belongs right
    above the key. `new_hands`: another person or method than before, and nobody was asked for that.
    `moves_next` says in words what will move once the answer is in; empty when nothing will.
    `redo_takes`: the trial that `redo` would take again, where it is not the prompt's own.
    `simulated_indicator_mm`: what the indicator of a simulated machine shows; None: look at it.
    `simulated_contact`: whether a simulated machine's nozzle touches the plate; None: look.
    """

    prompt_id: str
    deed: Deed
    text: str
    detail: str
    moves_next: str
    place: Place | None  # None: the prompt concerns the run as a whole
    opened_at: datetime
    resolution_mm: float | None  # for kinds zero and read
    typed_in_graduations: bool = False
    simulated_indicator_mm: float | None = None
    simulated_contact: bool | None = None
    redo_takes: Place | None = None
    hands_out: str = ""
    new_hands: bool = False

    @property
    def choices(self) -> tuple[Choice, ...]:
        """What it may be answered, one of several; empty: it is no choice."""
        return choices_of(self.deed)

    @property
    def kind(self) -> PromptKind:
        """What it asks for, as far as the answer goes."""
        return kind_of(self.deed)

    @property
    def may_redo(self) -> bool:
        """Whether there is a trial to be done again."""
        return self.place is not None and not isinstance(self.deed, ChangeHands)

    @property
    def may_skip(self) -> bool:
        """Whether the trial may be left out: no block can do without its zero, and no study of the
        true gap without its tie.
        """
        place = self.place
        is_a_trial = place is not None and place.trial > 0 and place.counts
        return is_a_trial and self.may_redo and not self._zeroes

    @property
    def _zeroes(self) -> bool:
        return self.kind is PromptKind.ZERO


class Word(StrEnum):
    """What an answer can be."""

    DONE = "done"
    READING = "reading"
    CHOSEN = "chosen"
    REDO = "redo"
    SKIP = "skip"
    HOLD = "hold"
    END = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What came back on a channel.

    `prompt_id` None: the channel can't carry one (a button); it then counts only when `given_s`,
    the event loop's clock, which nobody can set, is later than the prompt's opening.
    `reading_mm` goes with the word `reading` alone, `choice` with `chosen`.
    """

    prompt_id: str | None
    word: Word
    reading_mm: float | None = None
    choice: str | None = None
    channel: str
    given_at: datetime
    given_s: float | None = None


# ------------------------------------------------------------------ news: what channels are told


@dataclass(frozen=True, slots=True, kw_only=True)
class RunStarted:
    """A run began (or went on after a stop, with so many of its trials done).

    skipped: block and trial of those that were left out.
    asks_nobody: it goes on by itself between its first answer and its end.  simulated: nothing real
    moves.
    """

    run: int
    study: str
    machine: str
    trials_total: int
    resumed: bool
    trials_done: int = 0
    skipped: tuple[tuple[int, int], ...] = ()
    asks_nobody: bool = False
    simulated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptOpened:
    """Something is asked."""

    prompt: Prompt


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptClosed:
    """The prompt is no longer open: answered, withdrawn by a fault, or called off."""

    prompt_id: str
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerRefused:
    """An answer did not count; nothing moved."""

    prompt_id: str | None
    channel: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CountdownTicked:
    """Motion starts in `seconds_left`; an answer `hold` from anywhere calls it off."""

    seconds_left: int
    what: str  # what will move


@dataclass(frozen=True, slots=True, kw_only=True)
class Moving:
    """What the machine does now, in words."""

    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionKept:
    """Something was decided by what was read; it is on disk.

    data: as `run/procedures` keeps it; for kind `levelled` the heights, the turns and what was
    noticed.
    """

    kind: str
    what: str
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveReading:
    """What the indicator shows while hands turn a screw; never kept."""

    prompt_id: str
    target_mm: float | None
    present_mm: float
    resolution_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingKept:
    """A reading is on disk. Only now is it acknowledged."""

    reading_id: int
    place: Place
    reading: Reading
    relative_mm: float | None  # value minus the block's zero; None where that is not defined
    is_zero: bool
    channel: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialMarked:
    """A trial was voided or skipped; it stays in the record with its reason.

    `whole_block`: all trials of the place's block and round were, and the block is begun again.
    """

    place: Place
    mark: str  # "void" or "skipped"
    reason: str
    whole_block: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldBegan:
    """The run stands still, safe, and says why; only an operator lifts it.

    `stopped`: somebody told the machine to halt; shown as STOPPED, a thing of its own.
    `not_told`: that STOP did not reach the machine, which may go on: switch it off at the mains.
    `taken_anew`: so many readings of the block in hand are made void when the run goes on, since
    the machine must home and the block's zero is lost; they are taken again.
    """

    reason: str
    stopped: bool = False
    not_told: bool = False
    taken_anew: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldLifted:
    """An operator lifted the hold."""

    channel: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFinished:
    """The run is over: complete, or ended early and resumable."""

    run: int
    complete: bool
    reason: str


News = (
    RunStarted
    | PromptOpened
    | PromptClosed
    | AnswerRefused
    | CountdownTicked
    | Moving
    | DecisionKept
    | LiveReading
    | ReadingKept
    | TrialMarked
    | HoldBegan
    | HoldLifted
    | RunFinished
)
