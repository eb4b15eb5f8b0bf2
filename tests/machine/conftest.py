"""Makes the small printer and the jumping clock importable."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
