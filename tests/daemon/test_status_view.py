"""A machine's status as a person reads it."""

import re

import pytest

from hostctl.cli.status_view import COLOURED, CUT, PLAIN, card, screen

RESTING: dict[str, object] = {
    "machine": "bench",
    "standing": "resting",
    "headline": "resting",
    "why_no_line": "",
    "own_job": "",
    "heat": "",
    "notice": "",
    "warnings": [],
    "studies": ["rig-check"],
    "queued": 0,
    "armed": None,
    "run": None,
    "prompt": None,
    "countdown": None,
    "moving": "",
    "hold": "",
    "stopped": False,
    "not_told": False,
    "readings_mm": [],
    "resolution_mm": None,
}
RUN = {"run": 3, "study": "rig-check", "trials_done": 4, "trials_total": 20, "seconds_left": 150.0}
READ = {
    "kind": "read",
    "simulated_indicator_mm": None,
    "resolution_mm": 0.01,
    "text": "Read the indicator.",
    "detail": "",
    "moves_next": "The head lifts.",
    "point": "front-left",
    "method": "paper-slip",
    "operator": "volunteer-a",
}
ASKING = {
    **RESTING,
    "standing": "asking",
    "headline": "READ",
    "run": RUN,
    "prompt": READ,
    "readings_mm": [0.02, -0.01],
}


def text_of(machine: dict[str, object]) -> str:
    return "\n".join(card(machine, width=100, tones=PLAIN))


@pytest.mark.parametrize(
    ("machine", "said"),
    [
        (RESTING, "bench: resting"),
        (RESTING, "Can be started: rig-check."),
        (ASKING, "run 3, rig-check: 4 of 20 done, about 2 min left"),
        (ASKING, "front-left, paper-slip, volunteer-a: Read the indicator."),
        (ASKING, "Moves next: The head lifts."),
        (
            {**ASKING, "prompt": {**READ, "simulated_indicator_mm": -0.02}},
            "Simulated indicator: −0.02 mm",
        ),
        (ASKING, "Answer: hostctl answer NUMBER"),
        (ASKING, "bench: READ"),
        (ASKING, "Last readings (mm): +0.020 −0.010"),
        ({**ASKING, "resolution_mm": 0.01}, "Last readings (mm): +0.02 −0.01"),
        ({**RESTING, "standing": "no line", "why_no_line": "nothing answers"}, "nothing answers"),
        ({**RESTING, "notice": "Run 7 was interrupted: x"}, "Run 7 was interrupted: x"),
        ({**ASKING, "standing": "holding", "hold": "The cable."}, "On hold: The cable."),
        ({**ASKING, "hold": "By phone.", "stopped": True}, "STOPPED: By phone."),
        (
            {**ASKING, "hold": "By phone.", "stopped": True, "not_told": True},
            "SWITCH IT OFF: By phone.",
        ),
        (
            {**RESTING, "heat": "bed 38 °C, its heater is off"},
            "Heat: bed 38 °C, its heater is off.",
        ),
        ({**ASKING, "heat": "bed 38 °C, aims at 40 °C"}, "Heat: bed 38 °C, aims at 40 °C."),
        ({**RESTING, "standing": "own job", "own_job": "It prints."}, "It prints."),
        ({**RESTING, "queued": 2}, "bench: resting (2 waiting)"),
        (
            {**RESTING, "armed": {"by": "button", "until": "2031-05-06T07:10:00+00:00"}},
            "armed (button) until 07:10 UTC",
        ),
        (
            {**ASKING, "prompt": None, "countdown": {"seconds_left": 2, "what": "All axes home."}},
            "Stand clear: All axes home. hostctl hold calls it off.",
        ),
    ],
)
def test_a_card_says_what_matters_now(machine: dict[str, object], said: str):
    assert said in text_of(machine)


@pytest.mark.parametrize("columns", [40, 80, 200])
@pytest.mark.parametrize("rows", [10, 24, 60])
@pytest.mark.parametrize("machines", [[ASKING], [ASKING, RESTING, {**RESTING, "machine": "b"}]])
def test_a_screen_has_its_size_whatever_is_on_it(columns: int, rows: int, machines):
    lines = screen(machines, columns=columns, rows=rows, tones=COLOURED)
    plain = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in lines]
    assert len(lines) == rows
    assert max(map(len, plain)) <= max(columns, 62)


def test_one_of_several_machines_is_named_in_the_command_that_answers_it():
    lines = screen([ASKING, RESTING], columns=80, rows=24, tones=PLAIN)
    assert "  Answer: hostctl answer NUMBER --machine bench" in lines


@pytest.mark.parametrize(("rows", "cut"), [(12, True), (24, False)])
def test_what_a_window_has_no_room_for_is_said_to_be_missing(rows: int, cut: bool):
    lines = screen([ASKING, RESTING], columns=80, rows=rows, tones=PLAIN)
    assert (f"  {CUT}" in lines) is cut


@pytest.mark.parametrize("width", range(20, 30))
def test_no_name_is_broken_at_its_hyphen(width: int):
    assert "rig-check." in " ".join(card(RESTING, width=width, tones=PLAIN)).split()


def test_the_screen_names_the_emergency_stop():
    assert "the machine's mains switch" in screen([ASKING], columns=80, rows=24, tones=PLAIN)[-1]
