"""What holds for all tests.

Hypothesis draws the same examples on every machine, and a slow machine fails none of them.
A test run that was started in the background ignores interrupts, and what it starts would inherit
that: so they are switched on.
An observer that fails stops nothing but the test.
"""

import logging
import signal
from collections.abc import Iterator

import pytest
from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=150)
settings.load_profile("repeatable")
signal.signal(signal.SIGINT, signal.default_int_handler)


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
