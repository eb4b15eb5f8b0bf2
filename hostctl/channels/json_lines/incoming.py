"""The lines of JSON that are taken as answers: what each holds, and why another is none."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Literal, assert_never

from pydantic import Discriminator, Field, Tag, TypeAdapter

from hostctl.channels.taken import Fault, Misfit, Taken, taken_from
from hostctl.news import Answer, Word

MOST_MM = 1e6
"""No reading is as long, either way."""


class ReadingAnswer(Taken):
    """What the indicator shows, or how thick the blade is that was asked for."""

    reading_mm: float = Field(ge=-MOST_MM, le=MOST_MM, allow_inf_nan=False)
    """What it shows, or how thick it is."""
    prompt_id: str
    """Of the prompt it answers."""


class ChoiceAnswer(Taken):
    """Which of several it is, where the prompt has `choices`."""

    choice: str
    """The `word` of one of them, as `lit`."""
    prompt_id: str
    """Of the prompt it answers."""


class WordAnswer(Taken):
    """A word that answers a prompt."""

    answer: Literal["done", "redo", "skip"]
    """`done`: it is done; `redo`: the trial is to be made again; `skip`: it is left out."""
    prompt_id: str
    """Of the prompt it answers."""


class StopAnswer(Taken):
    """A word that makes the run stand still; it is taken at any time."""

    answer: Literal["hold", "end"]
    """`hold`: until somebody lifts it; `end`: the run is over, and can be resumed."""
    prompt_id: str | None = None
    """Of the prompt it answers, if it is of one."""


def _kind(line: object) -> str:
    """Which kind a line is to be, so that only what is wrong with that one is told."""
    if not isinstance(line, dict) or "answer" not in line:
        return "choice" if isinstance(line, dict) and "choice" in line else "reading"
    return "stop" if line["answer"] in ("hold", "end") else "word"


AnswerIn = Annotated[
    Annotated[ReadingAnswer, Tag("reading")]
    | Annotated[ChoiceAnswer, Tag("choice")]
    | Annotated[WordAnswer, Tag("word")]
    | Annotated[StopAnswer, Tag("stop")],
    Discriminator(_kind),
]
_ANSWERS: TypeAdapter[ReadingAnswer | ChoiceAnswer | WordAnswer | StopAnswer] = TypeAdapter(
    AnswerIn
)
_WORDS = ", ".join(word for word in Word if word not in (Word.READING, Word.CHOSEN))


@dataclass(frozen=True, slots=True)
class Malformed:
    """A line that is no answer: why, and the prompt it named, if it named one."""

    reason: str
    prompt_id: str | None = None


def answer_from(line: bytes, *, channel: str, now: datetime) -> Answer | Malformed:
    """The answer in one line of JSON. Never raises: what can't be understood comes back as why."""
    said = taken_from(line, _ANSWERS)
    reading_mm: float | None = None
    choice: str | None = None
    match said:
        case Misfit():
            prompt_id = said.said.get("prompt_id")
            return Malformed(_why(said), prompt_id if isinstance(prompt_id, str) else None)
        case ReadingAnswer():
            word, reading_mm = Word.READING, said.reading_mm
        case ChoiceAnswer():
            word, choice = Word.CHOSEN, said.choice
        case WordAnswer() | StopAnswer():
            word = Word(said.answer)
        case never:
            assert_never(never)
    return Answer(
        prompt_id=said.prompt_id,
        word=word,
        reading_mm=reading_mm,
        choice=choice,
        channel=channel,
        given_at=now,
    )


def _why(misfit: Misfit) -> str:
    match misfit.fault, misfit.key:
        case ((Fault.NOT_JSON | Fault.TOO_DEEP | Fault.NOT_AN_OBJECT as fault), _):
            return f"the line is {fault}"
        case Fault.WRONG_VALUE, "answer":
            return f"answer must be one of: {_WORDS}"
        case ((Fault.UNKNOWN_KEY | Fault.MISSING_KEY), ("answer" | "choice" | "reading_mm")):
            return "give one of answer, choice and reading_mm"
        case _, "prompt_id" if misfit.said.get("prompt_id") is None:
            return "only hold and end go without a prompt_id"
        case _:
            return misfit.reason
