"""What holds for all tests.

Hypothesis draws the same examples on every machine, and a slow machine fails none of them.
A test run that was started in the background ignores interrupts, and what it starts would inherit
that: so they are switched on.
"""

import signal

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=150)
settings.load_profile("repeatable")
signal.signal(signal.SIGINT, signal.default_int_handler)
