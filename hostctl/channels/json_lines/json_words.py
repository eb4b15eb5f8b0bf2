"""News as JSON objects: what a script sees."""

from typing import assert_never

from hostctl.channels.view.data import Json, as_data
from hostctl.channels.view.seen import prompt_view
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
    ReadingKept,
    RunFinished,
    RunStarted,
    TrialMarked,
)
from hostctl.records import Place


def object_for(news: News) -> Json:
    """The news as an object, flat but for a prompt's deed; `event` says which."""
    match news:
        case RunStarted():
            return {
                "event": "started",
                "run": news.run,
                "study": news.study,
                "machine": news.machine,
                "trials_total": news.trials_total,
                "resumed": news.resumed,
            }
        case PromptOpened(prompt=prompt):
            return as_data(prompt_view(prompt))
        case PromptClosed(prompt_id=prompt_id, because=because):
            return {"event": "closed", "prompt_id": prompt_id, "because": because}
        case AnswerRefused(prompt_id=prompt_id, channel=channel, reason=reason):
            return {
                "event": "refused",
                "prompt_id": prompt_id,
                "reason": reason,
                "channel": channel,
            }
        case CountdownTicked(seconds_left=seconds_left, what=what):
            return {"event": "countdown", "seconds_left": seconds_left, "what": what}
        case Moving() | DecisionKept() | LiveReading():
            return _told(news)
        case ReadingKept():
            return _reading(news)
        case TrialMarked():
            return {
                "event": "marked",
                **_place(news.place),
                "mark": news.mark,
                "reason": news.reason,
                "whole_block": news.whole_block,
            }
        case HoldBegan():
            return {
                "event": "hold",
                "reason": news.reason,
                "stopped": news.stopped,
                "not_told": news.not_told,
                "taken_anew": news.taken_anew,
            }
        case HoldLifted(channel=channel):
            return {"event": "hold-lifted", "channel": channel}
        case RunFinished(run=run, complete=complete, reason=reason):
            return {"event": "finished", "run": run, "complete": complete, "reason": reason}
        case never:
            assert_never(never)


def _told(news: Moving | DecisionKept | LiveReading) -> Json:
    match news:
        case Moving(what=what):
            return {"event": "moving", "what": what}
        case DecisionKept(kind=kind, what=what, data=data):
            return {"event": "decided", "kind": kind, "what": what, "data": data}
        case LiveReading():
            return {
                "event": "live",
                "prompt_id": news.prompt_id,
                "target_mm": news.target_mm,
                "present_mm": news.present_mm,
                "resolution_mm": news.resolution_mm,
            }


def _place(place: Place) -> Json:
    return {
        "run": place.run,
        "block": place.block,
        "round": place.round,
        "trial": place.trial,
        "attempt": place.attempt,
        "method": place.method,
        "operator": place.operator,
        "point": place.point,
        "trials_done": place.trials_done,
        "trials_total": place.trials_total,
        "counts": place.counts,
    }


def _reading(news: ReadingKept) -> Json:
    reading = news.reading
    return {
        "event": "reading",
        "reading_id": news.reading_id,
        **_place(news.place),
        "value_mm": reading.value_mm,
        "relative_mm": news.relative_mm,
        "resolution_mm": reading.resolution_mm,
        "is_zero": news.is_zero,
        "taken_at": reading.taken_at.isoformat(timespec="milliseconds"),
        "source": reading.source,
        "x_mm": reading.at.x_mm,
        "y_mm": reading.at.y_mm,
        "z_mm": reading.at.z_mm,
        "bed_c": reading.temperatures.bed_c,
        "nozzle_c": reading.temperatures.nozzle_c,
        "channel": news.channel,
    }
