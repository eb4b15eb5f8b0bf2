"""Makes the small printer, the jumping clock and the paper store importable."""

import sys
from pathlib import Path

from hypothesis import settings

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))
sys.path.insert(0, str(HERE.parent / "machine"))

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=150)
settings.load_profile("repeatable")
