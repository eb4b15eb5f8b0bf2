"""A thermal fault of a machine that rests: shown, asked about, and not forgotten by the daemon."""

import signal
from pathlib import Path

import pytest
from daemon_process import Daemon
from simulated_printer import printer_at

pytestmark = pytest.mark.slow

FAULT = ("--fault", "thermal_at_command=3", "--fault", "thermal_halts=0")


def test_a_resting_machine_is_left_alone_until_somebody_says_it_was_looked_at(
    daemon: Daemon, tmp_path: Path
):
    line = tmp_path / "line"
    line.mkdir()
    with printer_at(line, "workshop-220", *FAULT) as (port, _):
        daemon.write_machine("bench", str(port))
        daemon.start()
        found = daemon.until("bench", lambda found: found["prompt"])
        assert found["standing"] == "holding"
        assert "a thermal fault: thermal runaway, heater E0" in str(found["hold"])
        assert "Switch the machine off at the mains" in str(found["hold"])
        shown = daemon.cli("status").stdout
        assert "THERMAL FAULT" in shown
        assert "at the mains" in " ".join(shown.split())
        reached = daemon.log.count("event=reached")

        daemon.end(signal.SIGKILL)
        daemon.start()
        found = daemon.until("bench", lambda found: found["prompt"])
        assert "thermal runaway" in str(found["hold"])
        assert daemon.log.count("event=reached") == reached  # its port was not opened

        daemon.type_keys("bench", "")  # beside the machine: it was looked at
        found = daemon.until("bench", lambda found: found["standing"] == "resting")
        assert (found["hold"], found["prompt"], found["armed"]) == ("", None, None)

        daemon.end(signal.SIGKILL)
        daemon.start()
        daemon.until("bench", lambda found: found["standing"] == "resting")
