"""The file that comes of it all, written where nothing is: never over another."""

import errno
from pathlib import Path

from hostctl.begin.on_disk import put_first
from hostctl.errors import HostctlError

_NEXT_STEPS = {
    errno.EEXIST: "Nothing was overwritten: give another path, or move that file away.",
    errno.ENOENT: "Make its folder first, or give another path.",
    errno.ENOTDIR: "Give a path in a folder.",
    errno.EISDIR: "Give the path of a file in it.",
    errno.ENOSPC: "Free some space, or give a path on another disk.",
    errno.EDQUOT: "Free some space, or give a path on another disk.",
}
_WRITABLE = "Give a path where you may write."


def write_file(path: Path, text: str) -> None:
    """The whole text, or no file. Raises HostctlError: what was answered so far is kept."""
    try:
        put_first(path, text.encode())
    except OSError as cause:
        if cause.errno == errno.EEXIST:
            what = "is there already"
        else:
            what = f"can't be written ({(cause.strerror or str(cause)).lower()})"
        next_step = _NEXT_STEPS.get(cause.errno or 0, _WRITABLE)
        raise HostctlError(str(path), what, next_step) from cause
