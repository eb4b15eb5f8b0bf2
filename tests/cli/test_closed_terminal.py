"""A terminal window that is closed: the run ends as it should, however the news of it comes in."""

import os
import pty
import select
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import pytest

from hostctl.store.reading import list_runs

PATIENCE_S = 40.0


def shown_until(wanted: str, screen: int) -> None:
    shown, until = "", time.monotonic() + PATIENCE_S
    while wanted not in shown:
        assert time.monotonic() < until, shown
        if select.select([screen], [], [], 1.0)[0]:
            shown += os.read(screen, 65536).decode(errors="ignore")


@pytest.mark.slow
@pytest.mark.parametrize("signal_first", [True, False])
@pytest.mark.parametrize("stopped_before", [True, False])
def test_a_run_whose_terminal_is_closed_ends_and_says_so_on_record(
    own_env: Mapping[str, str],
    small_study: str,
    tmp_path: Path,
    signal_first: bool,
    stopped_before: bool,
):
    screen, tty = pty.openpty()
    run = subprocess.Popen(
        [sys.executable, "-m", "hostctl", "run", small_study, "--machine", "sim-220"],
        stdin=tty,
        stdout=tty,
        stderr=subprocess.DEVNULL,
        env={**own_env, "TERM": "xterm", "NO_COLOR": "1", "PYTHONUTF8": "0", "LANG": "C"},
        start_new_session=True,
    )
    os.close(tty)
    shown_until("READY?", screen)
    if stopped_before:
        os.write(screen, b"x")
        shown_until("STOPPED", screen)
    if signal_first:
        run.send_signal(signal.SIGHUP)
    os.close(screen)
    if not signal_first:
        run.send_signal(signal.SIGHUP)
    assert run.wait(PATIENCE_S) == 9
    (kept,) = list_runs(tmp_path / "kept.sqlite")
    assert kept.ended_at is not None
    assert not kept.complete
