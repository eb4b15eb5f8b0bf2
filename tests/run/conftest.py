"""Makes the small printer, the jumping clock and the paper store importable."""

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))
sys.path.insert(0, str(HERE.parent / "machine"))
