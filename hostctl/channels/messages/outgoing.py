"""What the station does, as payloads."""

from collections.abc import Callable
from dataclasses import asdict
from datetime import datetime
from uuid import uuid4

from hostctl.channels.messages.payloads import (
    Event,
    EventKind,
    PromptNow,
    ReadingKept,
    State,
    json_text,
)
from hostctl.channels.messages.topics import Topics
from hostctl.channels.news_lines import line_for
from hostctl.records import (
    AnswerRefused,
    CountdownTicked,
    HoldBegan,
    HoldLifted,
    Moving,
    News,
    Prompt,
    PromptClosed,
    PromptKind,
    PromptOpened,
    RunFinished,
    RunStarted,
    TrialMarked,
)
from hostctl.records import ReadingKept as KeptNews
from hostctl.run.record.in_hand import trials_done_after
from hostctl.run.station import Standing, Station
from hostctl.store.outbox import NewMessage
from hostctl.store.rows import StoredReading

_WANTED = {
    PromptKind.CONFIRM: ("done",),
    PromptKind.SET: ("done",),
    PromptKind.ZERO: ("done", "reading_mm"),
    PromptKind.READ: ("reading_mm",),
}


class Outgoing:
    """Follows one station's news and words it."""

    def __init__(self, station: Station, topics: Topics, *, now: Callable[[], datetime]) -> None:
        self._station = station
        self._topics = topics
        self._now = now
        self._run: int | None = None  # by the news told so far; the desk may be further
        self._what = ""
        self._seconds_left: int | None = None
        self._trials_done: int | None = None

    # ------------------------------------------------------------ retained: only the latest counts

    def state(self) -> str:
        """How the station stands now."""
        return json_text("state", self._state())

    def prompt(self) -> str:
        """What is asked now."""
        prompt = self._station.desk.open_prompt
        return json_text("prompt", PromptNow() if prompt is None else _prompt(prompt))

    def fingerprint(self) -> object:
        """Changes when the state does, its time apart."""
        station = self._station
        return (
            station.standing,
            station.queued,
            station.arming.armed,
            self._what_now(),
            *self._halted(),
            tuple(station.studies()),
            station.heat,
        )

    def _state(self) -> State:
        started = self._station.desk.started
        armed = self._station.arming.armed
        stopped, not_told = self._halted()
        return State(
            at=self._now(),
            standing=self._station.standing,
            what=self._what_now(),
            stopped=stopped,
            not_told=not_told,
            seconds_left=self._seconds_left,
            run=started.run if started else None,
            study=started.study if started else None,
            trials_done=self._trials_done if started else None,
            trials_total=started.trials_total if started else None,
            queued=self._station.queued,
            armed_until=armed.until if armed else None,
            studies=tuple(self._station.studies()),
            heat=self._station.heat,
        )

    def _halted(self) -> tuple[bool, bool]:
        """Whether it stands still by a STOP, and whether that did not reach the machine."""
        held = self._station.desk.held
        return (False, False) if held is None else (held.stopped, held.not_told)

    def _what_now(self) -> str:
        desk = self._station.desk
        match self._station.standing:
            case Standing.NO_LINE:
                return self._station.why_unreachable
            case Standing.OWN_JOB:
                return self._station.own_job
            case Standing.HOLDING:
                return desk.held.reason if desk.held else ""
            case Standing.ASKING:
                return desk.open_prompt.text if desk.open_prompt else ""
            case Standing.MOVING:
                return self._what
            case Standing.RESTING:
                return self._station.notice

    # ------------------------------------------------------------ not retained: each one counts

    def after(self, news: News) -> NewMessage | None:
        """Take note of the news; gives the message it makes, if any."""
        self._note(news)
        match news:
            case KeptNews():
                return self.reading(news)
            case AnswerRefused(prompt_id=prompt_id, channel=channel, reason=reason):
                return self.event(
                    EventKind.REFUSED, f"Not taken: {reason}", prompt_id=prompt_id, channel=channel
                )
            case RunStarted():
                return self.event(EventKind.STARTED, line_for(news))
            case TrialMarked():
                return self.event(EventKind.MARKED, line_for(news).strip())
            case HoldBegan():
                return self.event(EventKind.HOLD, line_for(news))
            case HoldLifted(channel=channel):
                return self.event(EventKind.HOLD_LIFTED, line_for(news), channel=channel)
            case RunFinished(run=run):
                return self.event(EventKind.FINISHED, line_for(news), run=run)
            case CountdownTicked() | Moving() | PromptOpened() | PromptClosed():
                return None

    def event(
        self,
        kind: EventKind,
        text: str,
        *,
        run: int | None = None,
        prompt_id: str | None = None,
        channel: str | None = None,
    ) -> NewMessage:
        """Something that happened."""
        event = Event(
            id=uuid4().hex,
            at=self._now(),
            event=kind,
            text=text,
            run=self._run if run is None else run,
            prompt_id=prompt_id,
            channel=channel,
        )
        return NewMessage(
            message_id=event.id, topic=self._topics.event, payload=json_text("event", event)
        )

    def reading(self, news: KeptNews) -> NewMessage:
        """A reading that is on the disk."""
        message_id = f"{self._topics.machine[:40]}-reading-{news.reading_id}"
        reading = news.reading
        payload = ReadingKept(
            id=message_id,
            reading_id=news.reading_id,
            **asdict(news.place),
            is_zero=news.is_zero,
            value_mm=reading.value_mm,
            relative_mm=news.relative_mm,
            resolution_mm=reading.resolution_mm,
            taken_at=reading.taken_at,
            source=reading.source,
            **asdict(reading.at),
            **asdict(reading.temperatures),
            channel=news.channel,
        )
        return NewMessage(
            message_id=message_id,
            topic=self._topics.reading,
            payload=json_text("reading", payload),
            reading_id=news.reading_id,
        )

    def _note(self, news: News) -> None:
        self._seconds_left = None
        self._trials_done = trials_done_after(self._trials_done, news)
        match news:
            case CountdownTicked(seconds_left=seconds_left, what=what):
                self._seconds_left, self._what = seconds_left, f"Stand clear: {what}"
            case Moving(what=what):
                self._what = what
            case RunStarted(run=run):
                self._run, self._what, self._trials_done = run, "", None
            case RunFinished():
                self._run = None
            case _:
                pass


def kept_news(stored: StoredReading) -> KeptNews:
    """A reading from the record, as the news that told of it would have been."""
    new = stored.kept
    return KeptNews(
        reading_id=stored.reading_id,
        place=new.place,
        reading=new.reading,
        relative_mm=None if new.is_zero else stored.relative_mm,
        is_zero=new.is_zero,
        channel=new.channel,
    )


def _prompt(prompt: Prompt) -> PromptNow:
    place = prompt.place
    where = asdict(place) if place else {}
    for not_told in ("round", "attempt"):
        where.pop(not_told, None)
    return PromptNow(
        prompt_id=prompt.prompt_id,
        kind=prompt.kind,
        deed=prompt.deed,
        text=prompt.text,
        detail=prompt.detail,
        moves_next=prompt.moves_next,
        answers=_WANTED[prompt.kind] + ("redo",) * prompt.may_redo + ("skip",) * prompt.may_skip,
        resolution_mm=prompt.resolution_mm,
        typed_in_graduations=prompt.typed_in_graduations,
        opened_at=prompt.opened_at,
        **where,
    )
