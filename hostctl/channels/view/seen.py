"""A station seen: its view made from the course of its run and what it knows of itself."""

from contextlib import suppress
from dataclasses import asdict, fields, replace

from hostctl.channels.view.beside import BedView, LiveView, TraceView
from hostctl.channels.view.data import from_data
from hostctl.channels.view.few_words import few_words, now_with
from hostctl.channels.view.view import (
    ArmedView,
    CountdownView,
    FinishedView,
    PlaceView,
    PromptView,
    RunView,
    StationView,
)
from hostctl.deeds import TurnScrew
from hostctl.news import HoldBegan, Prompt, PromptKind
from hostctl.records import Place
from hostctl.run.record.course import Course
from hostctl.run.record.standing import Standing
from hostctl.run.station import Station

HEADLINES = {
    PromptKind.CONFIRM: "DO THIS",
    PromptKind.SET: "SET GAP",
    PromptKind.ZERO: "ZERO INDICATOR",
    PromptKind.READ: "READ INDICATOR",
    PromptKind.SEND: "PRESS TO SEND",
    PromptKind.CHOOSE: "SAY WHICH",
}
TAKEN = {
    PromptKind.CONFIRM: ("done",),
    PromptKind.SET: ("done",),
    PromptKind.ZERO: ("done", "reading_mm"),
    PromptKind.READ: ("reading_mm",),
    PromptKind.SEND: (),
    PromptKind.CHOOSE: (),
}


def view_of(station: Station) -> StationView:
    """How the station stands now."""
    desk, armed = station.desk, station.arming.armed
    standing = station.standing
    of_run = view_of_run(desk.course)
    view = replace(
        of_run,
        machine=station.name,
        standing=standing,
        why_no_line="" if station.reachable else station.why_unreachable,
        own_job=station.own_job,
        halted=station.halted or of_run.halted,
        heat=station.heat,
        notice=station.notice,
        warnings=tuple(station.warnings.values()),
        studies=tuple(station.studies()),
        queued=station.queued,
        armed=ArmedView(by=armed.by, until=armed.until) if armed else None,
        report=station.report,
    )
    return view if desk.started else replace(view, headline=standing.value, run=None)


def view_of_run(course: Course) -> StationView:
    """As far as the news tell, for where there is a run and no station. It shows the end too."""
    held = course.held or HoldBegan(reason="")
    return StationView(
        machine=course.started.machine if course.started else "",
        standing=course.standing,
        headline=_headline(course),
        run=_run(course),
        place=_place(course.place) if course.place else None,
        prompt=prompt_view(course.prompt) if course.prompt else None,
        countdown=_countdown(course),
        moving=course.moving,
        hold=held.reason,
        halted=held.reason if course.standing is Standing.HALTED else "",
        stopped=held.stopped,
        not_told=held.not_told,
        taken_anew=held.taken_anew,
        readings_mm=course.in_hand.readings_mm,
        resolution_mm=course.in_hand.resolution_mm,
        bed=_bed(course),
        live=LiveView(**asdict(course.live)) if course.live else None,
        trace=_trace(course),
        finished=FinishedView(**asdict(course.finished)) if course.finished else None,
    )


def _bed(course: Course) -> BedView | None:
    """None where what was decided is of a later program, and other than is known here."""
    if course.levelled is None:
        return None
    with suppress(ValueError):
        return from_data(BedView, course.levelled.data)
    return None


def _trace(course: Course) -> TraceView | None:
    trace = course.trace
    if not trace.means_mm:
        return None
    return TraceView(means_mm=trace.means_mm, each=trace.each, drift_mm=trace.drift_mm)


def _run(course: Course) -> RunView | None:
    if course.started is None:
        return None
    return RunView(
        run=course.started.run,
        study=course.started.study,
        trials_done=course.trials_done,
        trials_skipped=len(course.skipped),
        trials_total=course.started.trials_total,
        seconds_left=course.seconds_left,
        simulated=course.started.simulated,
    )


def _place(place: Place) -> PlaceView:
    return PlaceView(**{each.name: getattr(place, each.name) for each in fields(PlaceView)})


def _countdown(course: Course) -> CountdownView | None:
    if course.countdown is None:
        return None
    return CountdownView(seconds_left=course.countdown.seconds_left, what=course.countdown.what)


def _headline(course: Course) -> str:
    """The deed in one or two words, to be read from a step away."""
    if course.finished:
        return "FINISHED" if course.finished.complete else "ENDED"
    if course.countdown:
        return f"MOVES IN {course.countdown.seconds_left}"
    if course.held and course.held.not_told:
        return "SWITCH IT OFF"
    if course.held:
        return "STOPPED" if course.held.stopped else "ON HOLD"
    if course.prompt:
        return _asked_large(course.prompt)
    return "MOVING" if course.moving else "WAIT"


def _asked_large(prompt: Prompt) -> str:
    if words := few_words(prompt.deed):
        return words.upper()
    if prompt.place is None:
        return "READY?"
    if prompt.new_hands:
        return now_with(prompt.place.operator, prompt.place.method).upper()
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
        hands_out=prompt.hands_out,
        moves_next=prompt.moves_next,
        answers=_taken(prompt),
        choices=prompt.choices,
        resolution_mm=prompt.resolution_mm,
        typed_in_graduations=prompt.typed_in_graduations,
        simulated_indicator_mm=prompt.simulated_indicator_mm,
        simulated_contact=prompt.simulated_contact,
        turn_screw=turn.screw if turn else None,
        turn_deg=turn.turn_deg if turn else None,
        turn_direction=turn.direction if turn else None,
        opened_at=prompt.opened_at,
        redo_takes=prompt.redo_takes.trial if prompt.redo_takes else None,
        new_hands=prompt.new_hands,
        **(asdict(prompt.place) if prompt.place else {}),
    )


def _taken(prompt: Prompt) -> tuple[str, ...]:
    words = TAKEN[prompt.kind] + tuple(choice.word for choice in prompt.choices)
    return words + ("redo",) * prompt.may_redo + ("skip",) * prompt.may_skip
