"""What the station does, as payloads."""

from collections.abc import Callable
from dataclasses import asdict, fields, replace
from datetime import datetime
from uuid import uuid4

from hostctl.channels.messages.event_kind import EventKind
from hostctl.channels.messages.payloads import Event, PromptNow, ReadingKept, State, json_text
from hostctl.channels.messages.topics import Topics
from hostctl.channels.news_lines import line_for, report_line
from hostctl.channels.view.data import as_data
from hostctl.channels.view.seen import view_of
from hostctl.channels.view.view import PromptView, StationView
from hostctl.news import (
    AnswerRefused,
    CountdownTicked,
    DecisionKept,
    HoldBegan,
    HoldLifted,
    LiveReading,
    Moving,
    News,
    PromptClosed,
    PromptOpened,
    RunFinished,
    RunStarted,
    TrialMarked,
)
from hostctl.news import ReadingKept as KeptNews
from hostctl.run.record.report import RunReport
from hostctl.run.record.standing import Standing
from hostctl.run.station import Station
from hostctl.store.outbox import NewMessage
from hostctl.store.rows import StoredReading


class Outgoing:
    """Follows one station's news and words it."""

    def __init__(self, station: Station, topics: Topics, *, now: Callable[[], datetime]) -> None:
        self._station = station
        self._topics = topics
        self._now = now
        self._run: int | None = None  # by the news told so far; the desk may be further

    # ------------------------------------------------------------ retained: only the latest counts

    def state(self) -> str:
        """How the station stands now."""
        return json_text("state", _state(view_of(self._station), self._now()))

    def prompt(self) -> str:
        """What is asked now."""
        prompt = view_of(self._station).prompt
        return json_text("prompt", PromptNow() if prompt is None else _prompt(prompt))

    def fingerprint(self) -> object:
        """Changes when the state does, its time apart."""
        return view_of(self._station)

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
            case DecisionKept(what=what):
                return self.event(EventKind.DECIDED, what)
            case CountdownTicked() | Moving() | LiveReading() | PromptOpened() | PromptClosed():
                return None

    def event(
        self,
        kind: EventKind,
        text: str,
        *,
        run: int | None = None,
        prompt_id: str | None = None,
        channel: str | None = None,
        report: RunReport | None = None,
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
            report=report,
        )
        return NewMessage(
            message_id=event.id, topic=self._topics.event, payload=json_text("event", event)
        )

    def report(self, report: RunReport) -> NewMessage:
        """A report that is made, or could not be."""
        line = report_line(report)
        return self.event(EventKind.REPORT, line, run=report.run, report=report)

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
        match news:
            case RunStarted(run=run):
                self._run = run
            case RunFinished():
                self._run = None
            case _:
                pass


def _state(view: StationView, at: datetime) -> State:
    run = view.run
    return State(
        at=at,
        standing=view.standing,
        what=_what(view),
        stopped=view.stopped,
        not_told=view.not_told,
        seconds_left=view.countdown.seconds_left if view.countdown else None,
        run=run.run if run else None,
        study=run.study if run else None,
        trials_done=run.trials_done if run else None,
        trials_total=run.trials_total if run else None,
        queued=view.queued,
        armed_until=view.armed.until if view.armed else None,
        studies=view.studies,
        heat=view.heat,
        view=as_data(view),
    )


def _what(view: StationView) -> str:
    """What it does or why it stands still, in words."""
    match view.standing:
        case Standing.NO_LINE:
            return view.why_no_line
        case Standing.OWN_JOB:
            return view.own_job
        case Standing.HOLDING:
            return view.hold
        case Standing.HALTED:
            return view.halted
        case Standing.ASKING:
            return view.prompt.text if view.prompt else ""
        case Standing.MOVING:
            return f"Stand clear: {view.countdown.what}" if view.countdown else view.moving
        case Standing.RESTING:
            return view.notice


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


def _prompt(prompt: PromptView) -> PromptNow:
    """Of a choice no word is listed among the answers: none would be taken by message."""
    choices = {choice.word for choice in prompt.choices}
    now = PromptNow(**{each.name: getattr(prompt, each.name) for each in fields(PromptNow)})
    return replace(now, answers=tuple(word for word in now.answers if word not in choices))
