"""A view as lines of text, at a given width and height. Pure, so that tests can look at it."""

import textwrap
from dataclasses import dataclass, replace

from hostctl.channels.terminal.chart import chart
from hostctl.channels.terminal.dots import stacked
from hostctl.channels.terminal.letters import large_in
from hostctl.channels.view.few_words import done_of, redoes, without_hands
from hostctl.channels.view.simulated import simulated
from hostctl.channels.view.view import PlaceView, PromptView, RunView, StationView
from hostctl.deeds import LiftHold
from hostctl.news import PromptKind
from hostctl.report.document.plain_ascii import in_ascii
from hostctl.report.document.significant import in_mm

MARGIN = "  "
UNBROKEN = "\N{NO-BREAK SPACE}"
STOP_NOTE = "Emergency stop: the mains switch. Key x only tells the machine to halt."
SIMULATED_NOTE = "This machine is simulated: nothing real moves. Key x tells it to halt."
WORDS_NOTE = "Hold: stands still until you lift it. End: over, and can be resumed."


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Terminal attributes as escape sequences; all empty without colour."""

    act: str = "\x1b[1;36m"  # a person is to act
    clear: str = "\x1b[1;33m"  # something moves or will: stay clear
    held: str = "\x1b[1;31m"
    strong: str = "\x1b[1m"
    faint: str = "\x1b[2m"
    off: str = "\x1b[0m"
    ascii_alone: bool = False  # no large letters, since they are made of blocks


PLAIN = Look(act="\x1b[1m", clear="\x1b[1m", held="\x1b[1m")


def draw(
    view: StationView, *, note: str, typed: str, columns: int, rows: int, look: Look
) -> list[str]:
    """Exactly `rows` lines, none wider than `columns` on the screen. note: what was said last.

    Where the height does not suffice what the keys mean goes first, then the dots, the large
    letters, the air, where we are, and the end of what is said; never the number being typed, nor
    what can be chosen, nor what moves, nor that hands are out, nor the keys.
    """
    width = max(20, columns - 2 * len(MARGIN))
    bottom = _bottom(view, note, width, look)
    room = max(0, rows - len(bottom))
    above, number = _fitting(view, typed, width, room, look)
    dots = _in_order(view, width, look) if view.trace else _dots(view, width, look)
    if len(above) + len(number) + len(dots) <= room:
        number += dots
    lines = above[: max(0, room - len(number))] + number
    words = _wrapped(WORDS_NOTE, width, look.faint, look) if not view.finished else []
    if len(lines) + len(words) <= room:
        room -= len(words)
        bottom += words
    lines += [""] * (room - len(lines)) + bottom
    return [f"{MARGIN}{line}" if line else "" for line in lines[:rows]]


def _fitting(
    view: StationView, typed: str, width: int, room: int, look: Look
) -> tuple[list[str], list[str]]:
    """The deed, and the number being typed or what can be chosen, as large as there is room for."""
    above: list[str] = []
    number: list[str] = []
    for big, air, where in (
        (not look.ascii_alone, True, True),
        (False, True, True),
        (False, False, True),
        (False, False, False),
    ):
        above = ["", *_where_we_are(view, width, look), ""] if where else []
        above += _heading(view.headline, width, big, _tone(view, look), look)
        above += _deed(view, width, look)
        number = _number(view, typed, width, big, look)
        if not air:
            above, number = ([line for line in part if line] for part in (above, number))
        if len(above) + len(number) <= room:
            break
    return above, number


def _number(view: StationView, typed: str, width: int, big: bool, look: Look) -> list[str]:
    if view.prompt and view.prompt.choices:
        return ["", *_choices(view.prompt, width, look)]
    if not typed and not _wants_number(view):
        return []
    unit = f"{look.faint}{_unit(view)}{look.off}"
    if big:
        return ["", *_heading(f"{typed}_", width, big, look.strong, look), unit]
    return ["", f"{look.strong}{typed}_{look.off} {unit}"]


def _choices(prompt: PromptView, width: int, look: Look) -> list[str]:
    """Each with its key, one a line."""
    return [
        line
        for choice in prompt.choices
        for line in _wrapped(f"[{choice.key}]  {choice.text}", width, look.strong, look)
    ]


def _bottom(view: StationView, note: str, width: int, look: Look) -> list[str]:
    said = ["", *_wrapped(note, width, look.strong, look)] if note else []
    moves: list[str] = []
    if view.prompt and view.prompt.moves_next:
        moves += _wrapped(f"Moves next: {view.prompt.moves_next}", width, look.clear, look)
        moves += _wrapped(view.prompt.hands_out, width, look.clear, look)
    return [*said, "", *moves, *_keys(view, width, look), *_switch(view, width, look)]


def _switch(view: StationView, width: int, look: Look) -> list[str]:
    """What really stops it: bold while something moves or is about to, quiet otherwise."""
    if view.run and view.run.simulated:
        return _wrapped(SIMULATED_NOTE, width, look.faint, look)
    moves = view.countdown or (view.moving and not view.prompt and not view.finished)
    return _wrapped(STOP_NOTE, width, look.strong if moves else look.faint, look)


def _tone(view: StationView, look: Look) -> str:
    if view.hold and not view.countdown:
        return look.held
    return look.act if view.prompt or view.finished else look.clear


def _wants_number(view: StationView) -> bool:
    return view.prompt is not None and view.prompt.kind is PromptKind.READ


def _unit(view: StationView) -> str:
    prompt = view.prompt
    if prompt is not None and prompt.typed_in_graduations and prompt.resolution_mm:
        return f"graduations of {prompt.resolution_mm:g} mm"
    return "mm"


def _where_we_are(view: StationView, width: int, look: Look) -> list[str]:
    run = view.run
    if run is None:
        return [f"{look.faint}Connecting …{look.off}"]
    left = f"{run.study} on {view.machine} · run {run.run}"
    right = f"{done_of(run)}{_time_left(run)}"
    gap = width - len(left) - len(right)
    first = [f"{left}{' ' * gap}{right}"] if gap >= 2 else [left[:width], right[:width]]
    filled = round(width * run.trials_done / max(1, run.trials_total))
    bar = f"{'━' * filled}{look.faint}{'─' * (width - filled)}{look.off}"
    return [*(f"{look.faint}{line}{look.off}" for line in first), bar]


def _time_left(run: RunView) -> str:
    seconds = run.seconds_left
    if seconds is None:
        return ""
    return " · under a minute left" if seconds < 60 else f" · about {seconds / 60:.0f} min left"


def _heading(text: str, width: int, big: bool, tone: str, look: Look) -> list[str]:
    return [f"{tone}{line}{look.off}" for line in (large_in(text, width) if big else [text])]


def _deed(view: StationView, width: int, look: Look) -> list[str]:
    lines = [""]
    if view.place:
        lines += [*_wrapped(_where(view, view.place), width, look.faint, look), ""]
    if view.hold and not (view.prompt and view.hold in view.prompt.detail):
        lines += _wrapped(view.hold, width, look.held, look)
    if view.prompt:
        prompt = view.prompt
        lines += _wrapped(prompt.text, width, look.strong, look)
        lines += _wrapped(_live(view), width, look.act, look)
        lines += _wrapped(simulated(prompt), width, look.strong, look)
        lines += _wrapped(without_hands(prompt), width, "", look)
    elif view.countdown:
        lines += _wrapped(f"Stand clear. {view.countdown.what}", width, look.strong, look)
    elif view.finished:
        lines += _wrapped(view.finished.reason, width, look.strong, look)
    elif view.moving:
        lines += _wrapped(f"Hands clear. {view.moving}", width, look.strong, look)
    return lines


def _where(view: StationView, place: PlaceView) -> str:
    """`front-left  ·  paper-slip`."""
    method = "" if view.bed else place.method  # a bed that is levelled is set by none
    named = [place.point, method, place.operator, _screw(view), _bed(view)]
    return "  ·  ".join(name for name in named if name)


def _bed(view: StationView) -> str:
    """How it stood at the last round of levelling."""
    bed = view.bed
    if bed is None:
        return ""
    enough = f", good enough {bed.within_mm:.3f}" if bed.within_mm is not None else ""
    return f"round {bed.round}: tilt {bed.tilt_mm:.3f} mm{enough}"


def _screw(view: StationView) -> str:
    """Which of the screws that are to be turned it is at: `screw 2 of 4`."""
    if view.bed is None or view.place is None or view.place.block != 2 * view.bed.round:
        return ""
    turned = sum(turn.turn_deg > 0 for turn in view.bed.turns)
    return f"screw {view.place.trial} of {turned}" if view.place.trial <= turned else ""


def _live(view: StationView) -> str:
    """What the indicator shows beside what it is to show; empty where nothing is watched."""
    live = view.live
    if live is None or view.prompt is None or live.prompt_id != view.prompt.prompt_id:
        return ""
    now = f"It shows {in_mm(live.present_mm, live.resolution_mm)} mm"
    if live.target_mm is None:
        return f"{now}."
    return f"{now};  turn until it shows {in_mm(live.target_mm, live.resolution_mm)} mm."


def _wrapped(text: str, width: int, attribute: str, look: Look) -> list[str]:
    off = look.off if attribute else ""
    text = in_ascii(text) if look.ascii_alone else text  # before its lines are as wide as can be
    return [
        f"{attribute}{line}{off}" for line in textwrap.wrap(text, width, break_on_hyphens=False)
    ]


def _keys(view: StationView, width: int, look: Look) -> list[str]:
    keys = [] if view.finished else [("e", "end"), ("x", "stop now")]
    if keys and not (view.hold and view.prompt):  # then it stands still already
        keys.insert(0, ("space", "hold"))
    if view.prompt:
        keys = [*_answers(view.prompt), *keys]
    as_is = replace(look, ascii_alone=False)  # a blank that may not break is no ASCII
    shown = "   ".join(f"[{key}]{UNBROKEN}{what}".replace(" ", UNBROKEN) for key, what in keys)
    wrapped = _wrapped(shown, width, look.strong, as_is)
    return [line.replace(UNBROKEN, " ") for line in wrapped]


def _answers(prompt: PromptView) -> list[tuple[str, str]]:
    """The keys that answer: without a trial nothing to redo, without its zero no block."""
    answers = [(choice.key, choice.word) for choice in prompt.choices]
    if not answers and prompt.kind is not PromptKind.SEND:
        answers = [("enter", _done(prompt))]
    if prompt.may_redo:
        answers.append(("r", f"redo{redoes(prompt.redo_takes)}"))
    if prompt.may_skip:
        answers.append(("s", "skip"))
    return answers


def _done(prompt: PromptView) -> str:
    """What Enter does."""
    if isinstance(prompt.deed, LiftHold):
        return "go on"
    return "keep the number" if prompt.kind is PromptKind.READ else "done"


def _in_order(view: StationView, width: int, look: Look) -> list[str]:
    """All readings, where nobody is asked between them."""
    dot = "*" if look.ascii_alone else "●"
    return chart(view.trace, view.resolution_mm, width, dot) if view.trace else []


def _dots(view: StationView, width: int, look: Look) -> list[str]:
    """The block's readings as dots."""
    if not view.readings_mm or not view.resolution_mm:
        return []
    return stacked(view.readings_mm, view.resolution_mm, width, look.faint, look.off)
