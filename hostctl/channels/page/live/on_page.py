"""One machine as the phones are sent it: the view of its station, and what only the page shows."""

from collections.abc import Mapping

from hostctl.channels.page.live.lately import Lately, whose
from hostctl.channels.view.data import Json, as_data
from hostctl.channels.view.few_words import few_words, now_with
from hostctl.channels.view.simulated import simulated
from hostctl.channels.view.view import PromptView, StationView
from hostctl.config.machine import Machine
from hostctl.deeds import TurnScrew
from hostctl.drafts.study_summary import StudySummary, told
from hostctl.drafts.told import told_time
from hostctl.news import PromptKind
from hostctl.run.record.in_hand import MOST_SHOWN, InHand
from hostctl.run.record.standing import Standing

HEADLINES = {
    PromptKind.CONFIRM: "Do this",
    PromptKind.SET: "Set the gap",
    PromptKind.ZERO: "Zero the indicator",
    PromptKind.READ: "Read the indicator",
    PromptKind.SEND: "Press to send",
    PromptKind.CHOOSE: "Say which",
}


def on_page(
    view: StationView,
    block: InHand,
    lately: Lately,
    studies: Mapping[str, StudySummary] | None = None,
) -> Json:
    """Ready to be sent. block: the one that was read last. studies: by name."""
    return {
        "view": as_data(view),
        "headline": _headline(view),
        "simulated": simulated(view.prompt) if view.prompt else "",
        "point": _point(view),
        "notice": _notice(view.notice),
        "plot": _plot(block, lately),
        "studies": [_study(name, (studies or {}).get(name), lately) for name in view.studies],
        "stopped_runs": _stopped_runs(view, lately),
    }


def geometry_of(machine: Machine) -> Json:
    """What the drawing of the bed is made from, mm, seen from above, the front at the bottom."""
    x, y = machine.travel.x, machine.travel.y
    return {
        "x_mm": [x.from_mm, x.to_mm],
        "y_mm": [y.from_mm, y.to_mm],
        "points": [[point.name, point.x_mm, point.y_mm] for point in machine.points],
        "screws": [[screw.name, screw.x_mm, screw.y_mm] for screw in machine.screws],
    }


def _headline(view: StationView) -> str:
    match view.standing:
        case Standing.HOLDING:
            if view.not_told:
                return "Switch it off"
            return "On hold"
        case Standing.HALTED:
            return "STOPPED" if view.stopped else "Halted"
        case Standing.ASKING if view.prompt is not None:
            return _asked(view.prompt)
        case Standing.NO_LINE:
            return "No line to the machine"
        case Standing.OWN_JOB:
            return "Runs its own job"
        case Standing.RESTING:
            return "At rest"
        case _:
            return "Moving" if view.moving or view.countdown else "Wait"


def _asked(prompt: PromptView) -> str:
    if words := few_words(prompt.deed):
        return words
    if prompt.trial is None:
        return "Ready?"
    if prompt.new_hands:
        return now_with(prompt.operator or "", prompt.method or "")
    return "Turn the screw" if isinstance(prompt.deed, TurnScrew) else HEADLINES[prompt.kind]


def _point(view: StationView) -> str | None:
    """The point that matters now; None while the whole machine does."""
    if view.standing is Standing.ASKING and view.prompt is not None:
        return view.prompt.point
    return view.place.point if view.standing is Standing.MOVING and view.place else None


def _notice(notice: str) -> str:
    """Without the command that a terminal takes: a phone has a button for it."""
    said, command, _ = notice.partition(": hostctl ")
    return f"{said}." if command else said


def _plot(block: InHand, lately: Lately) -> Json:
    """The readings as dots: of the block read last, or of what is on record."""
    if block.place is None:
        values_mm, resolution_mm, named = lately.readings_mm, lately.resolution_mm, lately.whose
    else:
        values_mm, resolution_mm = block.readings_mm, block.resolution_mm
        named = whose(block.place)
    newest = list(values_mm[-MOST_SHOWN:])
    return {"values_mm": newest, "resolution_mm": resolution_mm, "whose": named}


def _study(name: str, known: StudySummary | None, lately: Lately) -> Json:
    """What it is, how long it takes by reckoning, and how long it took."""
    took_min = lately.took_min.get(name)
    return {
        "study": name,
        "title": known.title if known else "",
        "size": told(known) if known else "",
        "took": told_time(60.0 * took_min) if took_min else "",
    }


def _stopped_runs(view: StationView, lately: Lately) -> list[Json]:
    """Those that can be gone on with; not the one that is going on."""
    now = view.run.run if view.run else None
    return [
        {"run": one.run, "study": one.study, "reason": one.reason}
        for one in lately.stopped
        if one.run != now
    ]
