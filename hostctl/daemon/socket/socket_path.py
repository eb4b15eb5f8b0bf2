"""Where the daemon's local socket is: the same rule for the daemon and for the commands."""

from collections.abc import Mapping
from pathlib import Path

FILE_NAME = "control.sock"
SYSTEM = Path("/run/hostctl")


def place_to_listen(environment: Mapping[str, str]) -> Path:
    """$HOSTCTL_SOCKET; else in $RUNTIME_DIRECTORY, which systemd gives a service, or the user's."""
    service = environment.get("RUNTIME_DIRECTORY", "").split(":")[0]
    own = Path(service) if service else _users(environment)
    return _named(environment) or own / FILE_NAME


def places_to_ask(environment: Mapping[str, str]) -> list[Path]:
    """Where a command looks: $HOSTCTL_SOCKET alone if set, else the user's daemon, the system's."""
    named = _named(environment)
    return [named] if named else [_users(environment) / FILE_NAME, SYSTEM / FILE_NAME]


def _named(environment: Mapping[str, str]) -> Path | None:
    named = environment.get("HOSTCTL_SOCKET")
    return Path(named).expanduser() if named else None


def _users(environment: Mapping[str, str]) -> Path:
    runtime = environment.get("XDG_RUNTIME_DIR", "")
    if Path(runtime).is_absolute():
        return Path(runtime) / "hostctl"
    state = environment.get("XDG_STATE_HOME", "")
    home = Path(state) if Path(state).is_absolute() else Path.home() / ".local" / "state"
    return home / "hostctl"
