"""Makes the simulated studies and the store's rows importable."""

import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "store")]
