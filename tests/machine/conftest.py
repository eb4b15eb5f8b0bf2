"""Makes the small printer and the jumping clock importable, and hypothesis repeatable."""

import sys
from pathlib import Path

from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=150)
settings.load_profile("repeatable")
