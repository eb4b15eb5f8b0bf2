"""An examination of everything the daemon stands on. Nothing is changed, no port opened."""

import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from hostctl.config.directory import Directory, read_directory
from hostctl.config.find import SERVED
from hostctl.config.host import Host, Messages
from hostctl.daemon.clock import clock_is_set
from hostctl.daemon.socket.socket_path import place_to_listen, places_to_ask
from hostctl.errors import ConfigError
from hostctl.store.file.location import FILE_NAME, database_path

LEAST_FREE_BYTES = 200_000_000
SERVICE_STATE = Path("/var/lib/hostctl")  # as in the shipped unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing looked at. `mend`: what to do, or what to know.

    `note`: neither good nor to be mended.
    """

    good: bool
    what: str
    found: str
    mend: str = ""
    note: bool = False


def examine(folder: Path, socket: Path | None) -> Iterator[Finding]:
    """Each finding as it is made; some take a few seconds."""
    try:
        directory = read_directory(folder)
    except ConfigError as mistakes:
        for mistake in str(mistakes).splitlines():
            yield Finding(good=False, what="configuration", found=mistake)
        yield _clock()
        return
    counts = f"machines: {len(directory.machines)}, studies: {len(directory.studies)}"
    yield Finding(good=True, what="configuration", found=f"{folder}, {counts}")
    yield from _machines(directory)
    yield from _devices(directory.host)
    yield _disk(_database(directory))
    yield _clock()
    yield _daemon(directory.host, socket)
    if directory.host.page is not None:
        from hostctl.daemon.examination.page_check import (
            page_findings,  # loads ssl, only needed here
        )

        for good, found, mend in page_findings(directory.host.page):
            yield Finding(good=good, what="page", found=found, mend=mend)
    if directory.host.messages is not None:
        yield from _broker(directory.host.messages, directory.host.machines)


def _machines(directory: Directory) -> Iterator[Finding]:
    for name, filed in directory.machines.items():
        yield _port(f"machine '{name}'", filed.checked.port)
        if not directory.studies_for(filed.checked):
            yield Finding(
                good=False,
                what=f"machine '{name}'",
                found="no study fits it",
                mend="Put one into studies/; hostctl check STUDY --machine M says why it does not.",
            )


def _port(what: str, url: str) -> Finding:
    if url.startswith("sim://"):
        return Finding(good=True, what=what, found="simulated: no port to look at")
    if "://" in url and not url.startswith("serial://"):
        found = f"{url}: not looked at before it is opened"
        return Finding(good=True, note=True, what=what, found=found)
    path = Path(url.removeprefix("serial://"))
    if not os.access(path, os.F_OK):
        return Finding(
            good=False,
            what=what,
            found=f"its port {path} is not there",
            mend="Switch it on and plug it in; see: hostctl ports",
        )
    if not os.access(path, os.R_OK | os.W_OK):
        return Finding(
            good=False,
            what=what,
            found=f"no permission for {path}",
            mend=f"Join its group: sudo usermod -aG {path.group()} USER, then log in again.",
        )
    if path.is_symlink():
        return Finding(good=True, what=what, found=f"{path} is there and may be opened")
    return Finding(
        good=False,
        what=what,
        found=f"{path} is a name that can change when things are plugged in again",
        mend="Take its name under /dev/serial/by-id (hostctl ports), or the shipped udev rule.",
    )


def _devices(host: Host) -> Iterator[Finding]:
    named = [("button", button.chip) for button in host.buttons]
    named += [("keys", keys.device) for keys in host.keys]
    for what, path in named:
        good = os.access(path, os.R_OK)
        mend = "" if good else "Plug it in; its user must be in the group 'gpio' or 'input'."
        found = f"{path} can{'' if good else chr(39) + 't'} be read"
        yield Finding(good=good, what=what, found=found, mend=mend)


def _broker(settings: Messages, machines: list[str]) -> Iterator[Finding]:
    from hostctl.daemon.examination.broker_check import (
        broker_findings,  # loads ssl, only needed here
    )

    in_order = True
    for good, found, mend in broker_findings(settings):
        in_order &= good
        yield Finding(good=good, what="broker", found=found, mend=mend)
    if in_order:
        from hostctl.daemon.examination.broker_login import login_findings

        for good, found, mend in login_findings(settings, machines):
            yield Finding(good=good, what="broker", found=found, mend=mend)


def _database(directory: Directory) -> Path:
    """As the daemon finds it; the system's daemon is told by its unit, which we are not."""
    if directory.host.database:
        return Path(directory.host.database)
    named = os.environ.get("HOSTCTL_DATABASE") or os.environ.get("STATE_DIRECTORY")
    is_the_systems = directory.path == Path(SERVED) and SERVICE_STATE.is_dir()
    return SERVICE_STATE / FILE_NAME if is_the_systems and not named else database_path()


def _disk(path: Path) -> Finding:
    # access(2), since a path that this user may not look into is no fault of ours
    folder = next(parent for parent in path.absolute().parents if os.access(parent, os.F_OK))
    free = os.statvfs(folder)
    free_bytes = free.f_bavail * free.f_frsize
    writable = os.access(path if os.access(path, os.F_OK) else folder, os.W_OK)
    found = f"{path}, {free_bytes / 1e9:.1f} GB free"
    mend = ""
    if free_bytes < LEAST_FREE_BYTES:
        mend = "Free some space or name another place with 'database:' in host.yaml."
    if not writable:
        found += ", not writable by this user"
        mend = "The daemon's user must own it; as that user: sudo -u hostctl hostctl doctor"
    return Finding(good=not mend, what="disk", found=found, mend=mend)


def _clock() -> Finding:
    if clock_is_set():
        return Finding(good=True, what="clock", found="kept in step")
    can_mend = shutil.which("timedatectl") is not None
    how = "sudo timedatectl set-ntp true" if can_mend else "See that it is right"
    return Finding(
        good=not can_mend,
        note=not can_mend,
        what="clock",
        found="nothing keeps it in step",
        mend=f"{how} (readings are stored with their time).",
    )


def _daemon(host: Host, socket: Path | None) -> Finding:
    from hostctl.daemon.socket.client import answers_at

    own = Path(host.socket) if host.socket else place_to_listen(os.environ)
    places = [socket] if socket else [own, *places_to_ask(os.environ)]
    place = next((place for place in places if _may_be_there(place)), None)
    if place is None:
        mend = "Start it: hostctl serve --config DIR, or sudo systemctl start hostctl"
        return Finding(good=True, note=True, what="daemon", found="not running", mend=mend)
    why = answers_at(place)
    return Finding(
        good=why is None,
        what="daemon",
        found=f"answers at {place}" if why is None else why,
        mend="" if why is None else "Look at its log: journalctl -u hostctl",
    )


def _may_be_there(place: Path) -> bool:
    """Whether it is worth asking; of a folder that we may not look into, the asking says why."""
    try:
        place.stat()
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError:
        return True
    return True
