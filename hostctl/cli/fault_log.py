"""Where the traceback of our own bugs is kept, so that no user has to read one."""

import tempfile
import traceback
from datetime import UTC, datetime
from pathlib import Path

from hostctl.store.location import database_path


def keep_fault(fault: Exception) -> str:
    """Append the traceback to the fault log; gives the one line for the user."""
    text = "".join(traceback.format_exception(fault))
    stamp = datetime.now(UTC).isoformat(timespec="seconds")
    for folder in (database_path().parent, Path(tempfile.gettempdir())):
        path = folder / "hostctl-faults.log"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with path.open("a", encoding="utf-8") as log:
                log.write(f"--- {stamp}\n{text}\n")
        except OSError:
            continue
        return f"hostctl: a fault of its own ({type(fault).__name__}). Please report {path}."
    return f"hostctl: a fault of its own ({type(fault).__name__}: {fault}). Please report it."
