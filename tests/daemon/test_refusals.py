"""What the local socket refuses, and the step that helps: each reason has its own."""

import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from daemon_process import Daemon

from hostctl.daemon.socket.refusals import LOOK, next_step

RUN = Path(__file__).parents[2] / "hostctl" / "run"
NEEDS_NOBODY = {  # typed answers always hold a number, and never say which of several it is
    "it holds no number",
    "there is nothing to choose now",
}
REASONS = {
    reason
    for file in ("desk.py", "fitting.py", "arming/room_code.py")
    for reason in re.findall(r'(?:return|else) "([a-z][^"{]{10,})"', (RUN / file).read_text())
}


@pytest.mark.parametrize("reason", sorted(REASONS - NEEDS_NOBODY))
def test_each_reason_of_the_desk_and_the_room_code_has_a_step_of_its_own(reason: str):
    assert next_step(reason) != LOOK or "before the prompt was shown" in reason


@pytest.mark.slow
def test_a_refusal_says_what_to_do(daemon: Daemon):
    daemon.start()
    daemon.until("bench", lambda found: found["standing"] == "resting")
    for words, said in (
        (["start", "smal"], "no study is called 'smal' here. Its studies: small."),
        (["arm", "0000"], "Have one shown: hostctl arm --show"),
        (["answer", "done"], "To see when something is asked: hostctl status --watch"),
        (["hold"], "no run is going on. If a machine moves all the same: hostctl stop"),
        (["hold", "--machine", "x"], "no machine is called 'x' here. Say which: --machine bench"),
        (["stop", "--machine", "x"], "no machine is called 'x' here. Say which: --machine bench"),
    ):
        refused = daemon.cli(*words)
        assert refused.returncode == 11
        assert said in refused.stderr


@pytest.mark.slow
@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGKILL])
def test_status_watch_waits_for_a_daemon_that_went_away(daemon: Daemon, end: signal.Signals):
    daemon.start()
    with subprocess.Popen(
        [sys.executable, "-m", "hostctl", "status", "--watch"],
        stdout=subprocess.PIPE,
        text=True,
        env=daemon.env,
    ) as watching:
        assert watching.stdout is not None
        lines = iter(watching.stdout.readline, "")
        assert "bench: " in next(lines)
        daemon.end(end)
        assert any("Waiting for it to come back" in line for line in lines)
        daemon.start()
        assert any("bench: " in line for line in lines)
        watching.send_signal(signal.SIGINT)
        assert watching.wait(10) == 0


@pytest.mark.slow
def test_status_calls_a_state_what_the_terminal_of_a_run_calls_it(daemon: Daemon):
    daemon.start()
    assert daemon.until("bench", lambda it: it["standing"] == "resting")["headline"] == "resting"
    daemon.start_run("bench", study="small")
    daemon.until("bench", lambda found: found["headline"] == "READY?")
    prompt = daemon.until("bench", lambda found: found["prompt"])["prompt"]
    assert isinstance(prompt, dict)
    daemon.ask("answer", machine="bench", text="done", prompt_id=prompt["prompt_id"])
    daemon.until("bench", lambda found: found["headline"] == "TURN SCREW")
    assert "bench: TURN SCREW" in daemon.cli("status").stdout
    daemon.ask("hold", machine="bench")
    daemon.until("bench", lambda found: found["headline"] == "ON HOLD")


@pytest.mark.slow
def test_status_shows_what_a_simulated_indicator_shows_while_it_is_asked_for(daemon: Daemon):
    daemon.start()
    daemon.start_run("bench", study="small")
    for _ in range(3):  # ready, turn, set
        prompt = daemon.until("bench", lambda found: found["prompt"])["prompt"]
        assert isinstance(prompt, dict)
        assert prompt["simulated_indicator_mm"] is None
        daemon.ask("answer", machine="bench", text="done", prompt_id=prompt["prompt_id"])
        daemon.until("bench", lambda found, old=prompt: found["prompt"] not in (None, old))
    assert "Simulated indicator: " in daemon.cli("status").stdout
