"""What comes in from the broker, judged as it arrives: it counts, or it is refused and told why.

Called on the event loop from inside the client, so it never waits and never raises. Nothing is
queued: however many messages come, each is done with before the next one is read.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import assert_never

from hostctl.channels.messages.arriving.incoming import (
    AnswerIn,
    CommandIn,
    NotUnderstood,
    answer_in,
    command_in,
)
from hostctl.channels.messages.arriving.limits import Calm, Quota, Remembered
from hostctl.channels.messages.connection.access import is_probe
from hostctl.channels.messages.event_kind import EventKind
from hostctl.channels.messages.payloads import Hold, ReadingAnswer, Resume, Start, Stop, WordAnswer
from hostctl.channels.messages.topics import Topics
from hostctl.news import Answer, Prompt, Word
from hostctl.run.desk import STOPPING, Accepted
from hostctl.run.fitting import only_there
from hostctl.run.station import NOT_TOLD, StartRequest, Station

CHANNEL = "messages"
SHOWN_AT_LEAST_S = 0.3
AGAIN_S = 1.0  # after which a halt, or a hold that was missed elsewhere, counts anew
KEPT_BY_THE_BROKER = "it is kept by the broker (retained), so it may be old; send it without"
EMPTY = "an empty message is no hold and no stop"
TOO_MANY = "so many messages come in that it may be an old one"


@dataclass(frozen=True, slots=True)
class ShownPrompt:
    """A prompt the broker has taken from us, and since when (the event loop's time)."""

    prompt_id: str
    since_s: float


class Reception:
    """Takes one machine's answers and commands."""

    def __init__(
        self,
        station: Station,
        topics: Topics,
        *,
        now: Callable[[], datetime],
        shown: Callable[[], ShownPrompt | None],
        tell: Callable[[EventKind, str], None],
    ) -> None:
        """`shown`: the prompt that subscribers can see now. `tell`: what was done for a command."""
        self._station = station
        self._desk = station.desk
        self._topics = topics
        self._now = now
        self._shown = shown
        self._tell = tell
        self._calm = Calm()
        self._urgent_calm = Calm()
        self._refusals = Quota()
        self._counted = Remembered()
        self._halted_s = self._held_s = -AGAIN_S

    def take(self, topic: str, payload: bytes, *, retained: bool, kept: bool, at_s: float) -> None:
        """Act on a message, or refuse it.

        `retained`: it is to be kept, or was. `kept`: it was, so it is not fresh. What is known to
        be fresh still counts where it stops something.
        """
        calm = self._calm.note(at_s)
        if kept or (retained and not self._stops(topic, payload)):
            why: str | None = KEPT_BY_THE_BROKER
        elif topic == self._topics.answer:
            why = self._answer(payload, calm=calm, at_s=at_s)
        elif topic == self._topics.command:
            why = self._command(payload, calm=calm, at_s=at_s)
        else:
            why = f"nobody reads the topic {topic[:80]}"
        self._refuse(why, at_s)

    def _refuse(self, why: str | None, at_s: float) -> None:
        if why is not None and self._refusals.take(at_s):
            self._desk.refuse(None, CHANNEL, why)

    def take_urgent(self, topic: str, payload: bytes, *, kept: bool, at_s: float) -> None:
        """Halt or hold, whatever the message says, unless the broker kept it from another time.

        One that is empty is sent to make the broker forget the one it keeps. So many messages that
        a stop may be lost among them count as one.
        """
        calm = self._urgent_calm.note(at_s)
        if kept:
            why: str | None = KEPT_BY_THE_BROKER
        elif not calm:
            why = self._stop(at_s)
        elif is_probe(payload):
            why = None
        else:
            why = self._urgent(topic, at_s) if payload else EMPTY
        self._refuse(why, at_s)

    def take_missed(self, topic: str, asked_s: float, at_s: float) -> None:
        """Halt or hold for what came at `asked_s`, if nothing has done so about then."""
        done_s = self._halted_s if topic == self._topics.stop else self._held_s
        if done_s < asked_s - AGAIN_S:
            self._refuse(self._urgent(topic, at_s), at_s)

    def _urgent(self, topic: str, at_s: float) -> str | None:
        return self._stop(at_s) if topic == self._topics.stop else self._hold(at_s)

    def _stops(self, topic: str, payload: bytes) -> bool:
        if topic == self._topics.command:
            return isinstance(command_in(payload), Stop | Hold)
        said = answer_in(payload, None) if topic == self._topics.answer else None
        return isinstance(said, WordAnswer) and Word(said.answer) in STOPPING

    def tell_of_untold(self, at_s: float) -> None:
        """Say how many refusals went untold in a flood, if that may be told now."""
        untold = self._refusals.untold_now(at_s)
        if untold:
            self._desk.refuse(None, CHANNEL, f"{untold} more messages were refused")

    # ------------------------------------------------------------ answers; each gives why not

    def _answer(self, payload: bytes, *, calm: bool, at_s: float) -> str | None:
        prompt = self._desk.open_prompt
        said = answer_in(payload, prompt)
        if isinstance(said, NotUnderstood):
            return only_there(prompt) if prompt is not None and prompt.choices else said.reason
        answer = self._answer_of(said, at_s)
        why = (
            self._why_again(said.id)
            or self._why_not_plain(answer, calm=calm, at_s=at_s)
            or self._hand_in(answer)
        )
        if why is None:
            self._remember(said.id)
        return why

    def _answer_of(self, said: AnswerIn, at_s: float) -> Answer:
        match said:
            case WordAnswer(answer=word):
                meant, value_mm = Word(word), None
            case ReadingAnswer(reading_mm=value_mm):
                meant = Word.READING
            case never:
                assert_never(never)
        return Answer(
            prompt_id=said.prompt_id,
            word=meant,
            reading_mm=value_mm,
            channel=CHANNEL,
            given_at=self._now(),
            given_s=at_s,
        )

    def _why_not_plain(self, answer: Answer, *, calm: bool, at_s: float) -> str | None:
        """Without an id it must have been sent after the prompt was shown."""
        if answer.prompt_id is not None or answer.word in STOPPING:
            return None
        prompt = self._desk.open_prompt
        if prompt is None:
            return "nothing is asked now"
        if not calm:
            return TOO_MANY
        shown = self._shown()
        if shown is None or shown.prompt_id != prompt.prompt_id:
            return "the prompt was not shown yet"
        if at_s - shown.since_s < SHOWN_AT_LEAST_S:
            return "it came too soon after the prompt to be meant for it"
        return None

    def _hand_in(self, answer: Answer) -> str | None:
        if answer.word is Word.HOLD and self._desk.held is not None:
            return "the run is on hold already"
        return _why_no_choice(self._desk.open_prompt, answer) or self._desk.take(answer)

    # ------------------------------------------------------------ commands; each gives why not

    def _command(self, payload: bytes, *, calm: bool, at_s: float) -> str | None:
        said = command_in(payload)
        if isinstance(said, NotUnderstood):
            return said.reason
        match said:
            case Stop():
                return self._stop(at_s)
            case Hold():
                return self._hold(at_s)
            case Start() | Resume():
                return self._start(said, calm=calm)
            case never:
                assert_never(never)

    def _stop(self, at_s: float) -> str | None:
        if at_s - self._halted_s < AGAIN_S:
            return "the machine was halted a moment ago"
        self._halted_s = at_s
        told = self._station.halt(CHANNEL)
        self._tell(EventKind.HALTED, "Told the machine to halt" if told else f"STOP: {NOT_TOLD}")
        return None

    def _hold(self, at_s: float) -> str | None:
        self._held_s = at_s
        return self._hand_in(
            Answer(prompt_id=None, word=Word.HOLD, channel=CHANNEL, given_at=self._now())
        )

    def _start(self, said: Start | Resume, *, calm: bool) -> str | None:
        if not calm:
            return TOO_MANY
        why = self._why_again(said.id)
        if why is not None:
            return why
        taken = self._station.ask_start(_request(said))
        if not isinstance(taken, Accepted):
            return taken.reason
        self._remember(said.id)
        self._tell(EventKind.QUEUED, f"Will start: {_called(said)}")
        return None

    # ------------------------------------------------------------ repetitions

    def _why_again(self, message_id: str | None) -> str | None:
        if message_id is not None and message_id in self._counted:
            return "it repeats a message that counted already"
        return None

    def _remember(self, message_id: str | None) -> None:
        if message_id is not None:
            self._counted.add(message_id)


def _why_no_choice(prompt: Prompt | None, answer: Answer) -> str | None:
    """A message never says which of several it is, with the prompt's id neither."""
    if prompt is None or not prompt.choices or answer.prompt_id not in (None, prompt.prompt_id):
        return None
    return only_there(prompt) if answer.word in (Word.DONE, Word.READING) else None


def _request(said: Start | Resume) -> StartRequest:
    return StartRequest(
        study=said.study if isinstance(said, Start) else None,
        resume=said.run if isinstance(said, Resume) else None,
        seed=said.seed if isinstance(said, Start) else None,
        channel=CHANNEL,
    )


def _called(said: CommandIn) -> str:
    match said:
        case Start(study=study):
            return study
        case Resume(run=run):
            return f"run {run}, where it stopped"
        case _:
            return said.command
