"""A machine's status as lines of text: what it asks now first, the rest after. Pure."""

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from hostctl.channels.terminal.letters import large
from hostctl.report.document.significant import in_mm

Json = Mapping[str, object]
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
    machines: Sequence[Json], *, columns: int, rows: int, tones: Tones, blocks: bool = True
) -> list[str]:
    """All machines on one screen: exactly `rows` lines. A single one has its standing in large.

    blocks: whether the terminal knows the signs that large letters are made of.
    """
    width = max(20, columns - 4)
    lines: list[str] = [""]
    for machine in machines:
        big = blocks and len(machines) == 1 and rows >= 16
        several = len(machines) > 1
        lines += [*card(machine, width=width, tones=tones, big=big, several=several), ""]
    room = rows - 2
    foot = f"{tones.faint}Ctrl-C leaves. Emergency stop: the machine's mains switch.{tones.off}"
    if len(lines) > room + 1:  # the last one is empty
        lines = [*lines[: room - 1], CUT]
    lines = lines[:room] + [""] * (room - len(lines)) + ["", foot]
    return [f"  {line}" if line else "" for line in lines]


def card(
    machine: Json, *, width: int, tones: Tones, big: bool = False, several: bool = False
) -> list[str]:
    """One machine: its standing, its run, what is asked or said, the last readings.

    several: it is one of several, so a command has to name it.
    """
    headline = str(machine["headline"])
    tone = _tone(machine, tones)
    head = f"{machine['machine']}: {headline}{_behind(machine)}"
    lines = [f"{tone}{line}{tones.off}" for line in _wrapped(head, width)]
    if big and len(large(headline)[0]) <= width:
        drawn = [f"{tone}{line}{tones.off}" for line in large(headline)]
        lines = [f"{machine['machine']}{_behind(machine)}", "", *drawn]
    run = machine["run"]
    if isinstance(run, Mapping):
        lines += _run(run, width, tones)
    lines += [line for text in _said(machine, several) for line in _wrapped(text, width)]
    lines += _readings(machine, width)
    return lines


def _tone(machine: Json, tones: Tones) -> str:
    if isinstance(machine["countdown"], Mapping):
        return tones.clear
    match machine["standing"]:
        case "asking":
            return tones.act
        case "moving":
            return tones.clear
        case "holding" | "no line" | "own job":
            return tones.held
        case _:
            return ""


def _behind(machine: Json) -> str:
    armed, queued = machine["armed"], machine["queued"]
    parts = [f"{queued} waiting"] if queued else []
    if isinstance(armed, Mapping):
        parts.append(f"armed ({armed['by']}) until {str(armed['until'])[11:16]} UTC")
    return f" ({', '.join(parts)})" if parts else ""


def _run(run: Json, width: int, tones: Tones) -> list[str]:
    done, total = run["trials_done"], run["trials_total"]
    assert isinstance(done, int)
    assert isinstance(total, int)
    left = run["seconds_left"]
    time_left = f", about {max(1, round(left / 60))} min left" if isinstance(left, float) else ""
    bar_width = min(width, 60)
    filled = round(bar_width * done / max(1, total))
    return [
        f"run {run['run']}, {run['study']}: {done} of {total} done{time_left}",
        f"{'━' * filled}{tones.faint}{'─' * (bar_width - filled)}{tones.off}",
    ]


def _said(machine: Json, several: bool) -> list[str]:
    """Sentences, the most urgent first."""
    said: list[str] = []
    countdown, prompt = machine["countdown"], machine["prompt"]
    if isinstance(countdown, Mapping):
        said.append(f"Stand clear: {countdown['what']} hostctl hold calls it off.")
    if machine["hold"] and not _in_detail(machine["hold"], prompt):
        said.append(f"{_held_as(machine)}: {machine['hold']}")
    if isinstance(prompt, Mapping):
        said += _asked(prompt, f" --machine {machine['machine']}" if several else "")
    elif machine["moving"]:
        said.append(str(machine["moving"]))
    if machine["heat"]:
        said.append(f"Heat: {machine['heat']}.")
    if machine["own_job"]:
        said.append(str(machine["own_job"]))
    if machine["why_no_line"]:
        said.append(str(machine["why_no_line"]))
    if machine["notice"]:
        said.append(str(machine["notice"]))
    warnings = machine["warnings"]
    said += [f"Mind: {text}" for text in warnings] if isinstance(warnings, list) else []
    if machine["standing"] == "resting":
        studies = machine["studies"]
        named = ", ".join(studies) if isinstance(studies, list) else ""
        said.append(f"Can be started: {named or 'nothing, its folder holds no study for it'}.")
    return said


def _in_detail(hold: object, prompt: object) -> bool:
    """Whether the question that is open says why it is held."""
    return isinstance(prompt, Mapping) and str(hold) in str(prompt["detail"])


def _held_as(machine: Json) -> str:
    if machine["not_told"]:
        return "SWITCH IT OFF"
    return "STOPPED" if machine["stopped"] else "On hold"


def _asked(prompt: Json, to: str) -> list[str]:
    named = [str(prompt[key]) for key in ("point", "method", "operator") if prompt[key]]
    where = f"{', '.join(named)}: " if named else ""
    said = [f"{where}{prompt['text']} {prompt['detail']}".strip()]
    if isinstance(shows_mm := prompt["simulated_indicator_mm"], float):
        said.append(f"Simulated indicator: {in_mm(shows_mm, _step(prompt))} mm")
    if prompt["moves_next"]:
        said.append(f"Moves next: {prompt['moves_next']}")
    said.append(_how_to_answer(prompt, to))
    return said


def _how_to_answer(prompt: Json, to: str) -> str:
    """The command, and the other words that count as the answer to this prompt."""
    kind, trial = prompt["kind"], prompt["trial"]
    others = ["hold", "end"]
    if isinstance(trial, int):  # without a trial nothing to redo, without its zero no block
        others = ["redo", *(["skip"] if trial > 0 and kind != "zero" else []), *others]
    word = "NUMBER" if kind == "read" else "done"
    or_number = ", or a NUMBER" if kind == "zero" else ""
    return f"Answer: hostctl answer {word}{to}{or_number} (also {', '.join(others)})"


def _readings(machine: Json, width: int) -> list[str]:
    readings = machine["readings_mm"]
    if not isinstance(readings, list) or not readings or machine["run"] is None:
        return []
    shown = " ".join(in_mm(value, _step(machine)) for value in readings[-MOST_READINGS:])
    return _wrapped(f"Last readings (mm): {shown}", width)


def _step(told: Json) -> float | None:
    step = told["resolution_mm"]
    return step if isinstance(step, float) else None


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False)  # names have them
