"""The quick set leaves out what is slow or needs a real part, and has something of each room."""

import subprocess
import sys
from pathlib import Path, PurePath

import pytest

TESTS = Path(__file__).parent
MARKED = {
    "tests/store/test_killing.py",
    "tests/messages/test_harm.py",
    "tests/page/test_browser.py",
}
"""All that is in them is marked: one as slow, one for the broker, one for the browser."""


@pytest.mark.slow
def test_the_quick_set_leaves_out_what_is_marked_and_no_room():
    words = ["--quick", "--collect-only", "-q", "-p", "no:cacheprovider"]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *words, str(TESTS)],
        cwd=TESTS.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-2000:]
    files = {line.split("::")[0] for line in done.stdout.splitlines() if "::" in line}
    rooms = {path.parent.name for path in TESTS.rglob("test_*.py")} - {"mutation"}
    assert not files & MARKED
    assert {PurePath(file).parent.name for file in files} == rooms
