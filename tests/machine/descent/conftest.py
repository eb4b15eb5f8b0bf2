"""Makes the bench with a plate importable."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
