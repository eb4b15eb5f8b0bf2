"""What holds for all tests.

Sums take one thread each: the tests come several at a time, and threads that wait for a core spin.
What collecting the tests makes is no garbage, and is not looked through for any: that took a third
of the time.
Hypothesis draws the same examples on every machine, and a slow machine fails none of them.
A test run that was started in the background ignores interrupts, and what it starts would inherit
that: so they are switched on.
What the tests write lies in memory where there is room: they kill programs and never the power, so
that nothing is learned from waiting for a disk.
An observer that fails stops nothing but the test.
Where Python is told to write no byte code, all that a test starts would compile the whole package
anew: then it is written aside, beside pytest's own cache.
`--quick` leaves out what is marked as slow or needs the real broker or browser, draws fewer
examples, and takes a few cases, evenly, of a test that has many. What it then lists as slow lacks
its mark.
"""

import gc
import logging
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=150)
settings.register_profile("quick", settings.get_profile("repeatable"), max_examples=20)
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before anything loads numpy
gc.disable()  # until the tests are collected
signal.signal(signal.SIGINT, signal.default_int_handler)
if sys.dont_write_bytecode:
    sys.pycache_prefix = str(Path(__file__).parents[1] / ".pytest_cache" / "compiled")
    sys.dont_write_bytecode = False
    os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

IN_MEMORY = Path("/dev/shm")
ROOM_B = 4 << 30
if "TMPDIR" not in os.environ and IN_MEMORY.is_dir() and shutil.disk_usage(IN_MEMORY).free > ROOM_B:
    tempfile.tempdir = os.environ["TMPDIR"] = str(IN_MEMORY)  # here, and in what the tests start

QUICK = "not slow and not broker and not browser"
SLOW_S = 1.0
MOST_CASES = 4


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--quick", action="store_true", help=f"-m '{QUICK}', and fewer examples")


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    """Before pytest reads its own options: what is chosen, and what is listed as slow."""
    quick = config.getoption("quick")
    settings.load_profile("quick" if quick else "repeatable")
    if quick:
        chosen = config.option.markexpr
        config.option.markexpr = f"({chosen}) and {QUICK}" if chosen else QUICK
        if config.option.durations is None:
            config.option.durations, config.option.durations_min = 20, SLOW_S


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """With `--quick`, a few cases of each test."""
    if not config.getoption("quick"):
        return
    cases: dict[str, list[pytest.Item]] = {}
    for item in items:
        cases.setdefault(item.nodeid.partition("[")[0], []).append(item)
    taken = {
        id(of_one[number * len(of_one) // MOST_CASES])
        for of_one in cases.values()
        for number in range(MOST_CASES)
    }
    config.hook.pytest_deselected(items=[item for item in items if id(item) not in taken])
    items[:] = [item for item in items if id(item) in taken]


def pytest_collection_finish() -> None:
    gc.freeze()
    gc.enable()


@pytest.fixture(autouse=True)
def no_observer_fails(request: pytest.FixtureRequest) -> Iterator[None]:
    """Such failures are only logged, so that they keep nobody from making a machine safe."""
    failed: list[logging.LogRecord] = []
    heard = logging.Handler()
    heard.emit = failed.append  # type: ignore[method-assign]
    log = logging.getLogger("hostctl.observers")
    log.addHandler(heard)
    yield
    log.removeHandler(heard)
    if request.node.get_closest_marker("observer_may_fail") is None:
        assert not [logging.Formatter().format(record) for record in failed]
