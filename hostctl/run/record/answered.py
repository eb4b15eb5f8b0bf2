"""What was answered, as it is kept before anything comes of it, and what a crash left undone."""

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from hostctl.news import Answer, Prompt, Word
from hostctl.records import Place
from hostctl.store.rows import ANSWERED, NewReading, RunRecord

ASKED_AGAIN = "asked again"
"""The kind of the event of a reading that was hard to believe."""


def in_words(answer: Answer) -> str:
    """`0.02 mm on phone page`, `lit on terminal`."""
    said = f"{answer.reading_mm:g} mm" if answer.reading_mm is not None else answer.word.value
    return f"{answer.choice or said} on {answer.channel}"


def as_data(answer: Answer, prompt: Prompt) -> dict[str, object]:
    """The answer and the trial it is about, as JSON holds them."""
    place = (prompt.redo_takes if answer.word is Word.REDO else None) or prompt.place
    return {
        "prompt_id": prompt.prompt_id,
        "kind": prompt.kind.value,
        "word": answer.word.value,
        "reading_mm": answer.reading_mm,
        "choice": answer.choice,
        "channel": answer.channel,
        "given_at": answer.given_at.isoformat(timespec="milliseconds"),
        "place": asdict(place) if place else None,
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """A mark that is due since an answer was kept and the program stopped before it was done."""

    place: Place
    mark: str  # "void" or "skipped"
    reason: str


def undone(record: RunRecord | None) -> Undone | None:
    """What the last answer of a run that stopped still asks for; None: nothing."""
    last = _last_answer(record) if record else None
    if record is None or last is None:
        return None
    place, said = Place(**last["place"]), f"{_said(last)} on {last['channel']}"
    if _is_marked(record, place):
        return None
    match last["word"]:
        case Word.REDO:
            return Undone(place=place, mark="void", reason=f"redo was said on {last['channel']}")
        case Word.SKIP:
            return Undone(place=place, mark="skipped", reason=f"said on {last['channel']}")
        case Word.READING if not (_is_read(record, place) or _was_asked_again(record, last)):
            why = f"{said} was answered, but the program stopped before it was proven"
            return Undone(place=place, mark="void", reason=why)
        case _:
            return None


def told_on_resuming(record: RunRecord | None, came_to: str = "") -> str:
    """What was kept last, for whoever did not see it acknowledged; empty: nothing yet.

    came_to: how far it was, where blocks and trials tell people nothing.
    """
    return " ".join(_told(record, came_to)) if record else ""


def _told(record: RunRecord, came_to: str) -> Iterator[str]:
    if came_to:
        yield came_to
    elif record.readings:
        stored = record.readings[-1]
        void = "" if stored.void is None else "; it is void"
        yield f"The last reading kept is {_reading(stored.kept)}{void}."
    last = _last_answer(record)
    if last is None or _is_reading_kept_last(record, last):
        return
    place = last["place"]
    skipped = last["word"] == Word.SKIP
    where = "" if came_to else f", trial {place['trial']} of block {place['block']}"
    yield (
        f"The last answer kept is {_said(last)} on {last['channel']}{where}: "
        f"{'it is skipped' if skipped else 'that trial is done again'}."
    )


def _is_reading_kept_last(record: RunRecord, answer: dict[str, Any]) -> bool:
    """Whether it became the last reading, which is told."""
    if not record.readings or answer["word"] == Word.REDO:
        return False
    return _spot(record.readings[-1].kept.place) == _spot(Place(**answer["place"]))


def _reading(kept: NewReading) -> str:
    by = f", answered on {kept.channel}" if kept.channel else ""
    place = kept.place
    what = f"trial {place.trial}" if place.trial else "the zero"
    return f"{kept.reading.value_mm:g} mm, {what} of block {place.block}{by}"


def _last_answer(record: RunRecord) -> dict[str, Any] | None:
    """The last one that was about a trial."""
    for event in reversed(record.events):
        if event.kind == ANSWERED:
            said: dict[str, Any] = json.loads(event.data)
            if said["place"] is not None:
                return said
    return None


def _said(answer: dict[str, Any]) -> str:
    value_mm, word = answer["reading_mm"], answer.get("choice") or answer["word"]
    return str(word) if value_mm is None else f"{value_mm:g} mm"


def _is_read(record: RunRecord, place: Place) -> bool:
    return any(_spot(stored.kept.place) == _spot(place) for stored in record.readings)


def _spot(place: Place) -> tuple[int, ...]:
    return place.block, place.round, place.trial, place.attempt


def _is_marked(record: RunRecord, place: Place) -> bool:
    return any(
        (mark.block, mark.round) == (place.block, place.round)
        and mark.trial in (None, place.trial)
        and mark.attempt in (None, place.attempt)
        for mark in record.marks
    )


def _was_asked_again(record: RunRecord, answer: dict[str, Any]) -> bool:
    return any(
        event.kind == ASKED_AGAIN and json.loads(event.data).get("prompt_id") == answer["prompt_id"]
        for event in record.events
    )
