"""Makes the bench with a simulated printer importable, and what it is made of."""

import sys
from pathlib import Path

for room in ("run", "machine"):
    sys.path.insert(0, str(Path(__file__).parent.parent / room))
