"""Each piece of news as one plain line, for where there is no screen."""

from typing import assert_never

from hostctl.channels.view.few_words import now_with, redoes, without_hands
from hostctl.channels.view.simulated import simulated
from hostctl.deeds import ChangeHands, TryBlade
from hostctl.news import (
    AnswerRefused,
    CountdownTicked,
    DecisionKept,
    HoldBegan,
    HoldLifted,
    LiveReading,
    Moving,
    News,
    Prompt,
    PromptClosed,
    PromptKind,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
    TrialMarked,
)
from hostctl.records import Place
from hostctl.report.document.significant import in_mm
from hostctl.run.record.report import ReportStanding, RunReport

SIMULATED = "The machine is simulated: nothing real moves."
MAINS_SWITCH = "Emergency stop: the machine's mains switch."


def line_for(news: News) -> str:
    """One line, of a prompt up to three; empty when there is nothing a person needs to read."""
    match news:
        case RunStarted():
            return _begun(news)
        case PromptOpened(prompt=prompt):
            return _asked(prompt)
        case CountdownTicked(seconds_left=seconds, what=what):
            return f"  {seconds} … stand clear: {what}"
        case Moving(what=what) | DecisionKept(what=what):
            return f"  {what}"
        case ReadingKept():
            return f"  {kept(news)}"
        case TrialMarked():
            return f"  {_marked(news)}"
        case HoldBegan():
            return _held(news)
        case HoldLifted(channel=channel):
            return f"Hold lifted ({channel})."
        case RunFinished(complete=complete, reason=reason):
            return f"Run {'finished' if complete else 'ended early'}: {reason}"
        case PromptClosed() | AnswerRefused() | LiveReading():
            return ""
        case never:
            assert_never(never)


def _begun(begun: RunStarted) -> str:
    what = f"{begun.study} on {begun.machine}"
    stop = SIMULATED if begun.simulated else MAINS_SWITCH
    if not begun.resumed:
        return f"Run {begun.run}: {what}, {begun.trials_total} trials. {stop}"
    done = f"{begun.trials_done} of {begun.trials_total} trials done"
    return f"Run {begun.run} goes on: {what}, {done}. {stop}"


def _marked(marked: TrialMarked) -> str:
    if marked.whole_block:
        return f"block {marked.place.block} is begun again: {marked.reason}"
    return f"trial {marked.place.trial} {marked.mark}: {marked.reason}"


def _held(held: HoldBegan) -> str:
    if held.not_told:
        return f"SWITCH IT OFF: {held.reason}"
    return f"{'STOPPED' if held.stopped else 'On hold'}: {held.reason}"


def _asked(prompt: Prompt) -> str:
    """What it is, what moves then, and last what is typed: that hands are out stands above it."""
    where = f"[{of(prompt.place)}] " if prompt.place else ""
    if prompt.place and (prompt.new_hands or isinstance(prompt.deed, ChangeHands)):
        where += f"{now_with(prompt.place.operator, prompt.place.method).upper()}. "
    shows = simulated(prompt)
    moves = f"Moves next: {prompt.moves_next}" if prompt.moves_next else ""
    lines = (
        (f"{where}{prompt.text}", without_hands(prompt), f"{shows}." if shows else ""),
        (moves, prompt.hands_out),
        (f"({_wanted(prompt)})",),
    )
    said = [" ".join(part for part in line if part) for line in lines]
    return "\n  ".join(line for line in said if line)


def _wanted(prompt: Prompt) -> str:
    again = prompt.redo_takes.trial if prompt.redo_takes else None
    others = (
        [f"redo{redoes(again)}"] * prompt.may_redo
        + ["skip"] * prompt.may_skip
        + ["hold", "end", "stop"]
    )
    return f"{_answer(prompt)}; {', '.join(others)}"


def _answer(prompt: Prompt) -> str:
    match prompt.kind:
        case PromptKind.CHOOSE:
            return " or ".join(choice.word for choice in prompt.choices)
        case PromptKind.READ:
            is_thickness = isinstance(prompt.deed, TryBlade)
            return "its thickness in mm" if is_thickness else "the number it shows"
        case PromptKind.SEND:
            return "a press of the cable's button"
        case PromptKind.ZERO:
            return "done, or the number it shows"
        case PromptKind.CONFIRM | PromptKind.SET:
            return "done"


def of(place: Place) -> str:
    """`3/20 front-left paper-slip volunteer-a`."""
    named = (place.point, place.method, place.operator)
    done = min(place.trials_done + 1, place.trials_total)
    return " ".join([f"{done}/{place.trials_total}", *(name for name in named if name)])


def kept(news: ReadingKept) -> str:
    """`kept +0.02 mm`, relative to the block's zero where there is one."""
    if news.is_zero:
        return f"zero kept at {in_mm(news.reading.value_mm, news.reading.resolution_mm)} mm"
    value = news.reading.value_mm if news.relative_mm is None else news.relative_mm
    return f"kept {in_mm(value, news.reading.resolution_mm)} mm"


def report_line(report: RunReport) -> str:
    """How it stands with a report; empty where it is only to be had for the asking."""
    match report.standing:
        case ReportStanding.MADE:
            return f"Report of run {report.run}, {report.file_name}: {report.answer}"
        case ReportStanding.FAILED:
            return f"The report of run {report.run} could not be made: {report.why}"
        case ReportStanding.BEING_MADE:
            return f"The report of run {report.run} is being made."
        case ReportStanding.NOT_MADE:
            return ""
