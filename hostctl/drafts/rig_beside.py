"""Says what a machine's last rig check found, as one line of JSON: for whoever loads no numpy.

python -m hostctl.drafts.rig_beside DATABASE MACHINE
"""

import json
import sys
from dataclasses import asdict
from pathlib import Path

from hostctl.drafts.rig_known import rig_known


def say(database: Path, machine: str) -> None:
    """On standard output; `null`: there is none. Raises StoreError."""
    found = rig_known(database, machine)
    sys.stdout.write(json.dumps(asdict(found) if found is not None else None, allow_nan=False))


if __name__ == "__main__":
    say(Path(sys.argv[1]), sys.argv[2])
