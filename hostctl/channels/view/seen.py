"""A station seen: its view made from what the news have told and what it knows of itself."""

from dataclasses import asdict, replace

from hostctl.channels.view.view import (
    ArmedView,
    CountdownView,
    PromptView,
    RunView,
    StationView,
)
from hostctl.deeds import TurnScrew
from hostctl.records import HoldBegan, Prompt, PromptKind
from hostctl.run.record.told import Told
from hostctl.run.station import Station

HEADLINES = {
    PromptKind.CONFIRM: "DO THIS",
    PromptKind.SET: "SET GAP",
    PromptKind.ZERO: "ZERO INDICATOR",
    PromptKind.READ: "READ INDICATOR",
}
TAKEN = {
    PromptKind.CONFIRM: ("done",),
    PromptKind.SET: ("done",),
    PromptKind.ZERO: ("done", "reading_mm"),
    PromptKind.READ: ("reading_mm",),
}


def view_of(station: Station) -> StationView:
    """How the station stands now."""
    desk, armed = station.desk, station.arming.armed
    standing = station.standing
    view = replace(
        view_of_run(desk.told),
        machine=station.name,
        standing=standing,
        why_no_line="" if station.reachable else station.why_unreachable,
        own_job=station.own_job,
        heat=station.heat,
        notice=station.notice,
        warnings=tuple(station.warnings.values()),
        studies=tuple(station.studies()),
        queued=station.queued,
        armed=ArmedView(by=armed.by, until=armed.until) if armed else None,
    )
    return view if desk.started else replace(view, headline=standing.value, run=None)


def view_of_run(told: Told) -> StationView:
    """As far as the news tell, for where there is a run and no station. It shows the end too."""
    held = told.held or HoldBegan(reason="")
    return StationView(
        machine=told.started.machine if told.started else "",
        standing=told.standing,
        headline=_headline(told),
        run=_run(told),
        place=told.place,
        prompt=prompt_view(told.prompt) if told.prompt else None,
        countdown=_countdown(told),
        moving=told.moving,
        hold=held.reason,
        stopped=held.stopped,
        not_told=held.not_told,
        taken_anew=held.taken_anew,
        readings_mm=told.in_hand.readings_mm,
        resolution_mm=told.in_hand.resolution_mm,
        finished=told.finished,
    )


def _run(told: Told) -> RunView | None:
    if told.started is None:
        return None
    return RunView(
        run=told.started.run,
        study=told.started.study,
        trials_done=told.trials_done,
        trials_total=told.started.trials_total,
        seconds_left=told.seconds_left,
    )


def _countdown(told: Told) -> CountdownView | None:
    if told.countdown is None:
        return None
    return CountdownView(seconds_left=told.countdown.seconds_left, what=told.countdown.what)


def _headline(told: Told) -> str:
    """The deed in one or two words, to be read from a step away."""
    if told.finished:
        return "FINISHED" if told.finished.complete else "ENDED"
    if told.countdown:
        return f"MOVES IN {told.countdown.seconds_left}"
    if told.held and told.held.not_told:
        return "SWITCH IT OFF"
    if told.held:
        return "STOPPED" if told.held.stopped else "ON HOLD"
    if told.prompt:
        return _asked_large(told.prompt)
    return "MOVING" if told.moving else "WAIT"


def _asked_large(prompt: Prompt) -> str:
    if prompt.place is None:
        return "READY?"
    return "TURN SCREW" if isinstance(prompt.deed, TurnScrew) else HEADLINES[prompt.kind]


def prompt_view(prompt: Prompt) -> PromptView:
    """What is asked, flat."""
    turn = prompt.deed if isinstance(prompt.deed, TurnScrew) else None
    return PromptView(
        prompt_id=prompt.prompt_id,
        kind=prompt.kind,
        deed=prompt.deed,
        text=prompt.text,
        detail=prompt.detail,
        moves_next=prompt.moves_next,
        answers=TAKEN[prompt.kind] + ("redo",) * prompt.may_redo + ("skip",) * prompt.may_skip,
        resolution_mm=prompt.resolution_mm,
        typed_in_graduations=prompt.typed_in_graduations,
        simulated_indicator_mm=prompt.simulated_indicator_mm,
        turn_screw=turn.screw if turn else None,
        turn_deg=turn.turn_deg if turn else None,
        turn_direction=turn.direction if turn else None,
        opened_at=prompt.opened_at,
        redo_takes=prompt.redo_takes.trial if prompt.redo_takes else None,
        **(asdict(prompt.place) if prompt.place else {}),
    )
