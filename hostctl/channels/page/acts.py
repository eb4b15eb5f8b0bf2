"""What a browser may ask for, and what comes of it: one function an act, told in plain words.

An act never raises for what a browser sent: it is refused, and the reason is for a person.
"""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeGuard

from hostctl.channels.typed_reading import reading_mm
from hostctl.channels.view.data import Json
from hostctl.news import Answer, Prompt, Word
from hostctl.run.desk import STOPPING, Accepted, Refused
from hostctl.run.station import StartRequest, Station

CHANNEL = "phone page"
FRESH_FOR = timedelta(seconds=10)
AHEAD = timedelta(seconds=5)  # what a phone's guess at our clock may be off
MOST_REMEMBERED = 200
MOST_RUNS = 2**31  # far above any number that the store gives


@dataclass(frozen=True, slots=True)
class Outcome:
    """What to send back: 200 taken, 400 not understood, 409 refused."""

    status: int
    reason: str = ""


TAKEN = Outcome(200)


@dataclass(frozen=True, slots=True)
class Said:
    """What an answer says: a word, and with it what was typed or chosen."""

    word: Word
    typed: str = ""
    choice: str = ""


def outcome_of(result: Accepted | Refused) -> Outcome:
    """The desk's or the station's word as an outcome."""
    return TAKEN if isinstance(result, Accepted) else Outcome(409, result.reason)


class Acts:
    """All acts, for all machines."""

    def __init__(self, now: Callable[[], datetime]) -> None:
        self._now = now
        self._taken: OrderedDict[tuple[str, str], Said] = OrderedDict()

    async def answer(self, station: Station, said: Json, browser: str) -> Outcome:
        """An answer. The same one sent again by the same browser gets the same reply, once done."""
        prompt_id, meant = said.get("prompt_id"), _said(said)
        if meant is None or not isinstance(prompt_id, str | None):
            return Outcome(400, "that is no answer")
        if meant.word not in STOPPING:
            if prompt_id is None:
                return Outcome(400, "an answer needs the prompt's id")
            if self._taken.get((browser, prompt_id)) == meant:
                return TAKEN
            late = self._too_late(said.get("pressed_at"))
            if late is not None:
                return late
        return await self._hand_in(station, prompt_id, meant, browser)

    async def hold(self, station: Station, browser: str) -> Outcome:
        """Hold the run, whatever it does; stopping needs no prompt."""
        return await self._hand_in(station, None, Said(Word.HOLD), browser)

    async def start(self, station: Station, said: Json) -> Outcome:
        """A start from afar; it needs the machine armed."""
        study, resume = said.get("study"), said.get("resume")
        if not isinstance(study, str | None) or not _is_run(resume):
            return Outcome(400, "name a study, or the number of a run to go on with")
        late = self._too_late(said.get("pressed_at"))
        if late is not None:
            return late
        request = StartRequest(study=study, resume=resume, seed=None, channel=CHANNEL)
        return outcome_of(station.ask_start(request))

    async def arm(self, station: Station, said: Json) -> Outcome:
        """The room code, typed by somebody who reads it off the machine."""
        code = said.get("code")
        if not isinstance(code, str) or len(code) > 20:
            return Outcome(400, "type the digits that the machine shows")
        return outcome_of(station.arm_by_code(code, by=CHANNEL))

    async def report(self, station: Station, said: Json) -> Outcome:
        """The report of the last run, which nobody has made yet. Nothing moves by it."""
        run = said.get("run")
        if not _is_run(run) or run is None:
            return Outcome(400, "give the number of a run")
        return outcome_of(station.ask_report(run))

    async def _hand_in(
        self, station: Station, prompt_id: str | None, said: Said, browser: str
    ) -> Outcome:
        prompt, word = station.desk.open_prompt, said.word
        value_mm = _typed_mm(said.typed, prompt) if word is Word.READING else None
        outcome = outcome_of(
            await station.desk.acknowledged(
                Answer(
                    prompt_id=None if word in STOPPING else prompt_id,
                    word=word,
                    reading_mm=value_mm,
                    choice=said.choice or None,
                    channel=CHANNEL,
                    given_at=self._now(),
                )
            )
        )
        if outcome is TAKEN and word not in STOPPING and prompt_id is not None:
            self._taken[browser, prompt_id] = said
            while len(self._taken) > MOST_REMEMBERED:
                self._taken.popitem(last=False)
        return outcome

    def _too_late(self, pressed_at: object) -> Outcome | None:
        """Motion follows only a fresh press: one held back by a bad line does not count."""
        if not isinstance(pressed_at, int | float) or not abs(pressed_at) < 1e14:
            return Outcome(400, "it does not say when it was pressed")
        age = self._now() - datetime.fromtimestamp(pressed_at / 1000, tz=self._now().tzinfo)
        if -AHEAD <= age <= FRESH_FOR:
            return None
        return Outcome(409, "it took too long on its way; press again if it still holds")


def _is_run(resume: object) -> TypeGuard[int | None]:
    return resume is None or (type(resume) is int and 0 < resume <= MOST_RUNS)


def _typed_mm(typed: str, prompt: Prompt | None) -> float | None:
    return reading_mm(typed, prompt) if prompt is not None else None


def _said(said: Json) -> Said | None:
    """The answer; None where it is none."""
    word = next((word for word in Word if word.value == said.get("word")), None)
    typed, choice = said.get("typed", ""), said.get("choice", "")
    if word is None or not isinstance(typed, str) or not isinstance(choice, str):
        return None
    return Said(word, typed, choice if word is Word.CHOSEN else "")
