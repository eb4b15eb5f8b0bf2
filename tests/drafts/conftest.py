"""Makes the bench with a simulated printer importable, and runs as a session keeps them."""

import sys
from pathlib import Path

TESTS = Path(__file__).parent.parent
sys.path[:0] = [str(TESTS / room) for room in ("run", "machine", "report", "store")]
