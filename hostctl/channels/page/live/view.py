"""One machine's sheet: all that the page shows of it, in words and numbers. No drawing here."""

from collections.abc import Mapping
from dataclasses import asdict

from hostctl.channels.page.live.board import Json
from hostctl.channels.page.live.lately import Lately, whose
from hostctl.channels.page.live.plot import Plot
from hostctl.channels.terminal.scene import Scene
from hostctl.channels.typed_reading import simulated_indicator
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.deeds import Deed, TurnScrew
from hostctl.records import HoldBegan, Place, Prompt, PromptKind
from hostctl.run.procedures.procedure import most_trials
from hostctl.run.station import Standing, Station

HEADLINES = {
    PromptKind.CONFIRM: "Do this",
    PromptKind.SET: "Set the gap",
    PromptKind.ZERO: "Zero the indicator",
    PromptKind.READ: "Read the indicator",
}


def sheet_of(
    station: Station,
    scene: Scene,
    plot: Plot,
    lately: Lately,
    plans: Mapping[str, Study] | None = None,
) -> Json:
    """Where this machine stands, ready to be sent. `plans`: the studies by name."""
    standing, armed = station.standing, station.arming.armed
    prompt = station.desk.open_prompt
    return {
        "machine": station.name,
        "standing": standing.value,
        "headline": _headline(station, prompt, scene),
        "prompt": _prompt(prompt) if prompt else None,
        "countdown": _countdown(scene) if prompt is None else None,
        "moving": scene.moving,
        **_held(station.desk.held),
        "own_job": station.own_job,
        "heat": station.heat,
        "point": _point(standing, prompt, scene),
        "run": _run(scene) if station.desk.started else None,
        "finished": _finished(scene),
        "plot": {
            "values_mm": list(plot.in_hand.readings_mm),
            "resolution_mm": plot.in_hand.resolution_mm,
            "whose": plot.whose,
        },
        "armed": {"by": armed.by, "until": armed.until.isoformat()} if armed else None,
        "queued": station.queued,
        "notice": _notice(station.notice),
        "warnings": list(station.warnings.values()),
        "why_unreachable": "" if station.reachable else station.why_unreachable,
        "studies": [_study(name, (plans or {}).get(name), lately) for name in station.studies()],
        "stopped": _stopped(station, lately),
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


def _study(name: str, plan: Study | None, lately: Lately) -> Json:
    return {
        "study": name,
        "title": plan.title if plan else "",
        "trials": most_trials(plan) if plan else None,
        "took_min": lately.took_min.get(name),
    }


def _notice(notice: str) -> str:
    """Without the command that a terminal takes: a phone has a button for it."""
    said, command, _ = notice.partition(": hostctl ")
    return f"{said}." if command else said


def _point(standing: Standing, prompt: Prompt | None, scene: Scene) -> str | None:
    """The point that matters now; None while the whole machine does."""
    if standing is Standing.ASKING and prompt is not None:
        return prompt.place.point if prompt.place else None
    return scene.place.point if standing is Standing.MOVING and scene.place else None


def _held(held: HoldBegan | None) -> Json:
    """Why it stands still, whether by a STOP, and how many readings going on will cost."""
    if held is None:
        return {"hold": "", "by_stop": False, "not_told": False, "taken_anew": 0}
    return {
        "hold": held.reason,
        "by_stop": held.stopped,
        "not_told": held.not_told,
        "taken_anew": held.taken_anew,
    }


def _headline(station: Station, prompt: Prompt | None, scene: Scene) -> str:
    held = station.desk.held
    match station.standing:
        case Standing.HOLDING:
            if held is not None and held.not_told:
                return "Switch it off"
            return "STOPPED" if held is not None and held.stopped else "On hold"
        case Standing.ASKING if prompt is not None:
            return _asked(prompt)
        case Standing.NO_LINE:
            return "No line to the machine"
        case Standing.OWN_JOB:
            return "Runs its own job"
        case Standing.RESTING:
            return "At rest"
        case _:
            return "Wait" if not (scene.moving or scene.countdown) else "Moving"


def _asked(prompt: Prompt) -> str:
    if prompt.place is None:
        return "Ready?"
    return "Turn the screw" if isinstance(prompt.deed, TurnScrew) else HEADLINES[prompt.kind]


def _prompt(prompt: Prompt) -> Json:
    return {
        "id": prompt.prompt_id,
        "kind": prompt.kind.value,
        "deed": asdict(prompt.deed),
        "text": prompt.text,
        "detail": prompt.detail,
        "moves_next": prompt.moves_next,
        "simulated": simulated_indicator(prompt),
        "resolution_mm": prompt.resolution_mm,
        "graduations": prompt.typed_in_graduations,
        "whose": whose(prompt.place) if prompt.place else "",
        "trial": _trial(prompt.place) if prompt.place else "",
        "in_hand": prompt.place.trial if prompt.place else None,
        "redoes": prompt.redo_takes.trial if prompt.redo_takes else None,
        "turn": _drawn(prompt.deed),
        "may_redo": prompt.may_redo,
        "may_skip": prompt.may_skip,
    }


def _trial(place: Place) -> str:
    """The same for all prompts about one attempt at one trial."""
    return f"{place.run}.{place.block}.{place.round}.{place.trial}.{place.attempt}"


def _drawn(deed: Deed) -> Json | None:
    """What the arc arrow is drawn from; None where no screw is turned or the way is not known."""
    if not isinstance(deed, TurnScrew) or deed.direction is None:
        return None
    clockwise = deed.direction == "clockwise"
    return {"deg": deed.turn_deg, "clockwise": clockwise, "screw": deed.screw}


def _countdown(scene: Scene) -> Json | None:
    if scene.countdown is None:
        return None
    return {"seconds_left": scene.countdown.seconds_left, "what": scene.countdown.what}


def _run(scene: Scene) -> Json | None:
    if scene.started is None:
        return None
    left_s = scene.seconds_left
    return {
        "run": scene.started.run,
        "study": scene.started.study,
        "done": scene.trials_done,
        "total": scene.started.trials_total,
        "minutes_left": None if left_s is None else max(1, round(left_s / 60)),
    }


def _finished(scene: Scene) -> Json | None:
    ended = scene.finished
    if ended is None:
        return None
    return {"run": ended.run, "complete": ended.complete, "reason": ended.reason}


def _stopped(station: Station, lately: Lately) -> list[Json]:
    """Runs that can be gone on with; not the one that is going on."""
    now = station.desk.started.run if station.desk.started else None
    return [
        {"run": one.run, "study": one.study, "reason": one.reason}
        for one in lately.stopped
        if one.run != now
    ]
