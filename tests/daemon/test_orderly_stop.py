"""Told to stop while the machine moves: the present move ends, and all is made safe."""

import json
import os
import pty
import signal
import subprocess
import sys

import pytest
from daemon_process import PATIENCE_S, Daemon
from wire_tap import WireTap, tapped

from hostctl.store.reading import list_runs, read_record


@pytest.mark.slow
def test_a_daemon_whose_terminal_was_closed_stops_and_holds_no_machine(daemon: Daemon):
    screen, terminal = pty.openpty()
    daemon.start(terminal=terminal)
    os.close(terminal)
    os.close(screen)
    assert daemon.end(signal.SIGHUP) == 0


@pytest.mark.slow
def test_on_a_terminal_that_is_there_a_hang_up_reads_the_files_again(daemon: Daemon):
    screen, terminal = pty.openpty()
    daemon.start(terminal=terminal)
    daemon.write_study(1, "another")
    assert daemon.process is not None
    daemon.process.send_signal(signal.SIGHUP)
    daemon.until("bench", lambda found: "another" in str(found["studies"]))
    os.close(terminal)
    os.close(screen)


@pytest.mark.slow
def test_a_stop_in_mid_move_lets_the_move_end_and_the_run_be_resumed(daemon: Daemon):
    command = [sys.executable, "-m", "hostctl_simulators", "printer", "workshop-220"]
    command += ["--tcp", "127.0.0.1:0", "--speed", "10"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as printer:
        assert printer.stdout is not None
        with tapped(printer.stdout.readline().strip()) as tap:
            stop_in_mid_move(daemon, tap)
        printer.terminate()
        account = json.loads(printer.communicate()[0])
    assert account["crashes"] == []
    assert account["moves"] > 0
    (run,) = list_runs(daemon.database)
    assert not run.complete
    events = [event.kind for event in read_record(daemon.database, run.run).events]
    assert events[-1] == "ended"
    assert "not safe" not in events
    assert daemon.log.rstrip().endswith("event=stopped")


def stop_in_mid_move(daemon: Daemon, tap: WireTap) -> None:
    """Begin a run; as soon as the printer says that it is at work on a move, end the daemon."""
    daemon.write_machine("bench", tap.url)
    study = daemon.folder / "studies" / "small.yaml"
    study.write_text(study.read_text().replace("countdown_s: 0", "countdown_s: 1"))
    daemon.start()
    daemon.start_run("bench", study="small")
    prompt = daemon.until("bench", lambda found: found["prompt"])["prompt"]
    assert isinstance(prompt, dict)
    daemon.ask("answer", text="done", prompt_id=prompt["prompt_id"])
    tap.until_printer_says(b"busy", PATIENCE_S)
    assert daemon.end() == 0
