"""A machine's status as a person reads it."""

import re
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from hostctl.channels.view.view import ArmedView, CountdownView, PromptView, RunView, StationView
from hostctl.cli.status_lines import COLOURED, CUT, PLAIN, lines_of, screen
from hostctl.deeds import ReadIndicator
from hostctl.news import PromptKind
from hostctl.run.record.report import ReportStanding, RunReport
from hostctl.run.record.standing import Standing

UNTIL = datetime(2031, 5, 6, 7, 10, tzinfo=UTC)
RESTING = StationView(
    machine="bench", standing=Standing.RESTING, headline="resting", studies=("rig-check",)
)
RUN = RunView(run=3, study="rig-check", trials_done=4, trials_total=20, seconds_left=150.0)
READ = PromptView(
    prompt_id="3-5-a",
    kind=PromptKind.READ,
    deed=ReadIndicator(),
    text="Read the indicator.",
    detail="",
    moves_next="The head lifts.",
    answers=("reading_mm", "redo", "skip"),
    choices=(),
    resolution_mm=0.01,
    typed_in_graduations=False,
    simulated_indicator_mm=None,
    simulated_contact=None,
    turn_screw=None,
    turn_deg=None,
    turn_direction=None,
    opened_at=UNTIL,
    redo_takes=None,
    trial=1,
    point="front-left",
    method="paper-slip",
    operator="volunteer-a",
)
ASKING = replace(
    RESTING,
    standing=Standing.ASKING,
    headline="READ",
    run=RUN,
    prompt=READ,
    readings_mm=(0.02, -0.01),
)
MADE = RunReport(
    run=3,
    study="rig-check",
    complete=True,
    standing=ReportStanding.MADE,
    file_name="r.html",
    answer="Paper does.",
)
BEING_MADE, FAILED = ReportStanding.BEING_MADE, ReportStanding.FAILED
SIMULATED = replace(READ, simulated_indicator_mm=-0.02)
ZERO = replace(READ, kind=PromptKind.ZERO, trial=0, answers=("done", "reading_mm", "redo"))
READY = replace(READ, kind=PromptKind.CONFIRM, trial=None, answers=("done",))
LIFTS = CountdownView(seconds_left=2, what="All axes home.")


def text_of(view: StationView) -> str:
    return "\n".join(lines_of(view, width=100, tones=PLAIN))


@pytest.mark.parametrize(
    ("view", "said"),
    [
        (RESTING, "bench: resting"),
        (RESTING, "Can be started: rig-check."),
        (ASKING, "run 3, rig-check: 4 of 20 done, about 2 min left"),
        (ASKING, "front-left, paper-slip, volunteer-a: Read the indicator."),
        (ASKING, "Moves next: The head lifts."),
        (replace(ASKING, prompt=SIMULATED), "Simulated indicator: −0.02 mm"),
        (
            replace(ASKING, prompt=replace(SIMULATED, typed_in_graduations=True)),
            "Simulated indicator: -2 graduations",
        ),
        (ASKING, "Answer: hostctl answer NUMBER (also redo, skip, hold, end)"),
        (
            replace(ASKING, prompt=ZERO),
            "Answer: hostctl answer done, or a NUMBER (also redo, hold, end)",
        ),
        (replace(ASKING, prompt=READY), "Answer: hostctl answer done (also hold, end)"),
        (ASKING, "bench: READ"),
        (ASKING, "Last readings (mm): +0.020 −0.010"),
        (replace(ASKING, resolution_mm=0.01), "Last readings (mm): +0.02 −0.01"),
        (replace(RESTING, standing=Standing.NO_LINE, why_no_line="no answer"), "no answer"),
        (replace(RESTING, notice="Run 7 was interrupted: x"), "Run 7 was interrupted: x"),
        (replace(ASKING, standing=Standing.HOLDING, hold="The cable."), "On hold: The cable."),
        (replace(ASKING, hold="By phone.", stopped=True), "STOPPED: By phone."),
        (replace(RESTING, standing=Standing.HALTED, halted="STOP: see to it."), "STOP: see to it."),
        (
            replace(ASKING, hold="By phone.", stopped=True, not_told=True),
            "SWITCH IT OFF: By phone.",
        ),
        (
            replace(RESTING, heat="bed 38 °C, its heater is off"),
            "Heat: bed 38 °C, its heater is off.",
        ),
        (replace(ASKING, heat="bed 38 °C, aims at 40 °C"), "Heat: bed 38 °C, aims at 40 °C."),
        (replace(RESTING, standing=Standing.OWN_JOB, own_job="It prints."), "It prints."),
        (replace(RESTING, report=MADE), "Report of run 3, r.html: Paper does."),
        (replace(RESTING, report=replace(MADE, standing=BEING_MADE)), "of run 3 is being made."),
        (
            replace(RESTING, report=replace(MADE, standing=FAILED, why="no room")),
            "The report of run 3 could not be made: no room",
        ),
        (replace(RESTING, queued=2), "bench: resting (2 waiting)"),
        (
            replace(RESTING, armed=ArmedView(by="button", until=UNTIL)),
            "armed (button) until 07:10 UTC",
        ),
        (
            replace(ASKING, prompt=None, countdown=LIFTS),
            "Stand clear: All axes home. hostctl hold calls it off.",
        ),
    ],
)
def test_what_matters_now_is_said_of_a_machine(view: StationView, said: str):
    assert said in text_of(view)


@pytest.mark.parametrize("columns", [40, 80, 200])
@pytest.mark.parametrize("rows", [10, 24, 60])
@pytest.mark.parametrize("views", [[ASKING], [ASKING, RESTING, replace(RESTING, machine="b")]])
def test_a_screen_has_its_size_whatever_is_on_it(columns: int, rows: int, views):
    lines = screen(views, columns=columns, rows=rows, tones=COLOURED)
    plain = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in lines]
    assert len(lines) == rows
    assert max(map(len, plain)) <= max(columns, 62)


def test_a_report_that_is_only_to_be_had_for_the_asking_takes_no_line():
    offered = replace(RESTING, report=replace(MADE, standing=ReportStanding.NOT_MADE))
    assert text_of(offered) == text_of(RESTING)


def test_one_of_several_machines_is_named_in_the_command_that_answers_it():
    lines = screen([ASKING, RESTING], columns=80, rows=24, tones=PLAIN)
    assert "  Answer: hostctl answer NUMBER --machine bench (also redo, skip, hold, end)" in lines


def test_why_it_is_held_is_said_once():
    why = "STOP was given on page: the machine was told to halt at once, heaters off."
    asked = replace(READ, text="STOPPED. Confirm (DONE).", detail=f"Why: {why}")
    held = replace(ASKING, prompt=asked, hold=why, stopped=True)
    assert " ".join(text_of(held).split()).count(why) == 1


@pytest.mark.parametrize(("rows", "cut"), [(12, True), (24, False)])
def test_what_a_window_has_no_room_for_is_said_to_be_missing(rows: int, cut: bool):
    lines = screen([ASKING, RESTING], columns=80, rows=rows, tones=PLAIN)
    assert (f"  {CUT}" in lines) is cut


@pytest.mark.parametrize("width", range(20, 30))
def test_no_name_is_broken_at_its_hyphen(width: int):
    assert "rig-check." in " ".join(lines_of(RESTING, width=width, tones=PLAIN)).split()


def test_the_screen_names_the_emergency_stop():
    assert "the machine's mains switch" in screen([ASKING], columns=80, rows=24, tones=PLAIN)[-1]
