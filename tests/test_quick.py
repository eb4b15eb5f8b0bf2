"""The quick set leaves out what is slow or needs a real part, and has something of each room."""

import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
LEFT_OUT = {"slow", "broker", "browser"}


@pytest.mark.slow
def test_quick_leaves_out_what_is_slow_or_needs_a_real_part():
    files = ["store/test_killing.py", "messages/test_harm.py", "page/test_browser.py"]
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "--quick",
            "--collect-only",
            "-q",
            "-p",
            "no:cacheprovider",
        ]
        + [str(TESTS / file) for file in [*files, "machine/test_permit.py"]],
        cwd=TESTS.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    chosen = {line.split("::")[0] for line in done.stdout.splitlines() if "::" in line}
    assert chosen == {"tests/machine/test_permit.py"}


def test_of_each_room_that_is_tested_something_is_in_the_quick_set(request: pytest.FixtureRequest):
    """Of the rooms chosen for this run: it says most where all are."""
    items = request.session.items
    quick = {item.path.parent for item in items if not marks_of(item) & LEFT_OUT}
    assert quick == {item.path.parent for item in items}


def marks_of(item: pytest.Item) -> set[str]:
    return {mark.name for mark in item.iter_markers()}
