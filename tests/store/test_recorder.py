"""One machine is recorded into a database by one program at a time."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from hostctl.errors import StoreError
from hostctl.store.file.recorder import recorded_elsewhere, recording

HOLDS = """
import sys, time
from pathlib import Path
from hostctl.store.file.recorder import recording
with recording(Path(sys.argv[1]), "bench"):
    print("held", flush=True)
    time.sleep(60)
"""


def test_another_program_may_record_another_machine_but_not_the_same(database: Path):
    database.parent.mkdir()
    with subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(database)], stdout=subprocess.PIPE, text=True
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "held\n"
        assert recorded_elsewhere(database) == ["bench"]
        with recording(database, "mill"):
            assert recorded_elsewhere(database) == ["bench", "mill"]
        with pytest.raises(StoreError, match=f"machine 'bench' .*process {child.pid}"):
            recording(database, "bench").__enter__()
        child.send_signal(signal.SIGKILL)
    assert recorded_elsewhere(database) == []
    with recording(database, "bench"):  # its file stayed; its lock did not
        pass
    assert list(database.parent.iterdir()) == []


def test_afterwards_neither_file_nor_handle_is_left(database: Path):
    database.parent.mkdir()
    handles = Path("/proc/self/fd")
    before = [each.name for each in handles.iterdir()]
    with recording(database, "bench"):
        pass
    assert [each.name for each in handles.iterdir()] == before
    assert list(database.parent.iterdir()) == []


def test_a_folder_that_can_hold_no_lock_is_said_to_be_so(tmp_path: Path):
    with pytest.raises(StoreError, match="it can't be opened or written"):
        recording(tmp_path / "nowhere" / "hostctl.sqlite", "bench").__enter__()
