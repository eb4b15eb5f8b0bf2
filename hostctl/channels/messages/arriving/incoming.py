"""What came in, understood: an answer, a command, or why it is neither. Pure; never raises.

JSON objects, or plain text as phone apps send it: `done`, `0.02`, `-0,01`, `hold`, `start NAME`.
"""

from dataclasses import dataclass
from typing import TypeVar

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from hostctl.channels.messages.payloads import (
    Hold,
    ReadingAnswer,
    Resume,
    Start,
    Stop,
    WordAnswer,
    adapter,
)
from hostctl.channels.taken import most_telling
from hostctl.channels.typed_reading import reading_mm
from hostctl.news import Prompt

LONGEST_BYTES = 4096
PLAIN_WORDS = {"done", "redo", "skip", "hold", "end"}

AnswerIn = WordAnswer | ReadingAnswer
CommandIn = Start | Resume | Hold | Stop
_ANSWERS: TypeAdapter[AnswerIn] = adapter("answer")
_COMMANDS: TypeAdapter[CommandIn] = adapter("command")
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class NotUnderstood:
    """Why a payload is no answer and no command."""

    reason: str


def answer_in(payload: bytes, prompt: Prompt | None) -> AnswerIn | NotUnderstood:
    """The answer in a payload. A plain number is understood as the prompt wants it."""
    text = _text(payload)
    if isinstance(text, NotUnderstood):
        return text
    if text.startswith("{"):
        return _from_json(_ANSWERS, text)
    word = text.lower()
    if word in PLAIN_WORDS:
        return WordAnswer(answer=word)  # type: ignore[arg-type] # it is one of them
    value_mm = reading_mm(text, prompt) if prompt is not None else None
    if value_mm is not None:
        return ReadingAnswer(reading_mm=value_mm)
    return NotUnderstood("nothing is asked now" if prompt is None else "it is no answer")


def command_in(payload: bytes) -> CommandIn | NotUnderstood:
    """The command in a payload."""
    text = _text(payload)
    if isinstance(text, NotUnderstood):
        return text
    if text.startswith("{"):
        return _from_json(_COMMANDS, text)
    match text.split():
        case [word] if word.lower() == "stop":
            return Stop(command="stop")
        case [word] if word.lower() == "hold":
            return Hold(command="hold")
        case [word, study] if word.lower() == "start" and len(study) <= 100:
            return Start(command="start", study=study)
        case _:
            return NotUnderstood("it is no command; known are start, resume, hold and stop")


def _text(payload: bytes) -> str | NotUnderstood:
    if len(payload) > LONGEST_BYTES:
        return NotUnderstood(f"it is longer than {LONGEST_BYTES} bytes")
    try:
        return payload.decode().strip()
    except UnicodeDecodeError:
        return NotUnderstood("it is not UTF-8 text")


def _from_json(known: TypeAdapter[_T], text: str) -> _T | NotUnderstood:
    try:
        return known.validate_json(text)
    except ValidationError as invalid:
        return NotUnderstood(_told(most_telling(invalid)))


def _told(error: ErrorDetails) -> str:
    key = str(error["loc"][-1])[:40] if error["loc"] else ""
    match error["type"]:
        case "json_invalid":
            return "it is not JSON, or nested too deep"
        case "unexpected_keyword_argument":
            return f"the key '{key}' is unknown here"
        case "missing":
            return f"the key '{key}' is missing"
        case _:
            return f"{key}: {error['msg'][:120]}"
