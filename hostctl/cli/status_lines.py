"""A station's view as lines of text: what it asks now first, the rest after. Pure."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from hostctl.channels.news_lines import report_line
from hostctl.channels.terminal.letters import large
from hostctl.channels.view.few_words import done_of
from hostctl.channels.view.simulated import simulated
from hostctl.channels.view.view import PromptView, RunView, StationView
from hostctl.news import PromptKind
from hostctl.report.document.significant import in_mm
from hostctl.run.record.standing import Standing

MOST_READINGS = 12
CUT = "… a taller window shows the rest"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tones:
    """Terminal attributes; all empty without colour."""

    act: str = ""  # a person is to act
    clear: str = ""  # something moves or will: stay clear
    held: str = ""
    faint: str = ""
    off: str = ""


PLAIN = Tones()
COLOURED = Tones(
    act="\x1b[1;36m", clear="\x1b[1;33m", held="\x1b[1;31m", faint="\x1b[2m", off="\x1b[0m"
)


def screen(
    views: Sequence[StationView], *, columns: int, rows: int, tones: Tones, blocks: bool = True
) -> list[str]:
    """All machines on one screen: exactly `rows` lines. A single one has its standing in large.

    blocks: whether the terminal knows the signs that large letters are made of.
    """
    width = max(20, columns - 4)
    lines: list[str] = [""]
    for view in views:
        big = blocks and len(views) == 1 and rows >= 16
        several = len(views) > 1
        lines += [*lines_of(view, width=width, tones=tones, big=big, several=several), ""]
    room = rows - 2
    foot = f"{tones.faint}Ctrl-C leaves. Emergency stop: the machine's mains switch.{tones.off}"
    if len(lines) > room + 1:  # the last one is empty
        lines = [*lines[: room - 1], CUT]
    lines = lines[:room] + [""] * (room - len(lines)) + ["", foot]
    return [f"  {line}" if line else "" for line in lines]


def lines_of(
    view: StationView, *, width: int, tones: Tones, big: bool = False, several: bool = False
) -> list[str]:
    """One machine: its standing, its run, what is asked or said, the last readings.

    several: it is one of several, so a command has to name it.
    """
    tone = _tone(view, tones)
    head = f"{view.machine}: {view.headline}{_behind(view)}"
    lines = [f"{tone}{line}{tones.off}" for line in _wrapped(head, width)]
    if big and len(large(view.headline)[0]) <= width:
        drawn = [f"{tone}{line}{tones.off}" for line in large(view.headline)]
        lines = [f"{view.machine}{_behind(view)}", "", *drawn]
    if view.run is not None:
        lines += _run(view.run, width, tones)
    lines += [line for text in _said(view, several) for line in _wrapped(text, width)]
    return lines + _readings(view, width)


def _tone(view: StationView, tones: Tones) -> str:
    if view.countdown is not None:
        return tones.clear
    match view.standing:
        case Standing.ASKING:
            return tones.act
        case Standing.MOVING:
            return tones.clear
        case Standing.HOLDING | Standing.HALTED | Standing.NO_LINE | Standing.OWN_JOB:
            return tones.held
        case Standing.RESTING:
            return ""


def _behind(view: StationView) -> str:
    parts = [f"{view.queued} waiting"] if view.queued else []
    if view.armed is not None:
        parts.append(f"armed ({view.armed.by}) until {view.armed.until:%H:%M} UTC")
    return f" ({', '.join(parts)})" if parts else ""


def _run(run: RunView, width: int, tones: Tones) -> list[str]:
    done, total, left_s = run.trials_done, run.trials_total, run.seconds_left
    time_left = "" if left_s is None else f", about {max(1, round(left_s / 60))} min left"
    bar_width = min(width, 60)
    filled = round(bar_width * done / max(1, total))
    return [
        f"run {run.run}, {run.study}: {done_of(run)}{time_left}",
        f"{'━' * filled}{tones.faint}{'─' * (bar_width - filled)}{tones.off}",
    ]


def _said(view: StationView, several: bool) -> list[str]:
    """Sentences, the most urgent first."""
    said = _why_it_waits(view)
    if view.prompt is not None:
        said += _asked(view.prompt, f" --machine {view.machine}" if several else "")
    elif view.moving:
        said.append(view.moving)
    heat = f"Heat: {view.heat}." if view.heat else ""
    said += [text for text in (heat, view.own_job, _of_the_line(view), view.notice) if text]
    said += [f"Mind: {text}" for text in view.warnings]
    if view.report is not None and (line := report_line(view.report)):
        said.append(line)
    if view.standing is Standing.RESTING:
        named = ", ".join(view.studies) or "nothing, its folder holds no study for it"
        said.append(f"Can be started: {named}.")
    return said


def _of_the_line(view: StationView) -> str:
    """That it was halted, or why it can't be reached; a hold says by itself why it stands."""
    return view.why_no_line if view.hold else view.halted or view.why_no_line


def _why_it_waits(view: StationView) -> list[str]:
    """The countdown, and the hold where the question that is open does not say it."""
    why: list[str] = []
    if view.countdown is not None:
        why.append(f"Stand clear: {view.countdown.what} hostctl hold calls it off.")
    if view.hold and not (view.prompt and view.hold in view.prompt.detail):
        why.append(f"{_held_as(view)}: {view.hold}")
    return why


def _held_as(view: StationView) -> str:
    if view.not_told:
        return "SWITCH IT OFF"
    return "STOPPED" if view.stopped else "On hold"


def _asked(prompt: PromptView, to: str) -> list[str]:
    named = [name for name in (prompt.point, prompt.method, prompt.operator) if name]
    where = f"{', '.join(named)}: " if named else ""
    said = [f"{where}{prompt.text} {prompt.detail}".strip()]
    if shows := simulated(prompt):
        said.append(shows)
    if prompt.moves_next:
        said.append(f"Moves next: {prompt.moves_next}")
    said.append(_how_to_answer(prompt, to))
    return said


def _how_to_answer(prompt: PromptView, to: str) -> str:
    """The command, and the other words that count as the answer to this prompt."""
    others = ["redo"] * prompt.may_redo + ["skip"] * prompt.may_skip + ["hold", "end"]
    if prompt.choices:
        words = " or ".join(choice.word for choice in prompt.choices)
        there = f"Answer at the terminal or on the phone page: {words}"
        return f"{there} (hostctl answer{to} takes {', '.join(others)})"
    word = "NUMBER" if prompt.kind is PromptKind.READ else "done"
    or_number = ", or a NUMBER" if prompt.kind is PromptKind.ZERO else ""
    return f"Answer: hostctl answer {word}{to}{or_number} (also {', '.join(others)})"


def _readings(view: StationView, width: int) -> list[str]:
    if not view.readings_mm or view.run is None:
        return []
    newest = view.readings_mm[-MOST_READINGS:]
    shown = " ".join(in_mm(value, view.resolution_mm) for value in newest)
    return _wrapped(f"Last readings (mm): {shown}", width)


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False)  # names have them
