"""Where the database is."""

import os
from pathlib import Path

FILE_NAME = "hostctl.sqlite"


def database_path() -> Path:
    """The database in use: $HOSTCTL_DATABASE, else in $STATE_DIRECTORY, else in the user's state.

    $STATE_DIRECTORY is what systemd gives a service (the first one, if several); the user's state
    is $XDG_STATE_HOME/hostctl, by default ~/.local/state/hostctl (XDG Base Directory 0.8).
    """
    named = os.environ.get("HOSTCTL_DATABASE")
    if named:
        return Path(named).expanduser()
    service = os.environ.get("STATE_DIRECTORY", "").split(":")[0]
    if service:
        return Path(service) / FILE_NAME
    state = os.environ.get("XDG_STATE_HOME", "")
    home = Path(state) if Path(state).is_absolute() else Path.home() / ".local" / "state"
    return home / "hostctl" / FILE_NAME
