"""File handles: how many this process may have, and whether only those are left that others need.

Whoever connects costs one. The last ones are kept free for the lines to machines and broker, the
database and the fault log: a crowd of strangers must not reach them.
"""

import os
import resource

KEPT_FREE = 16
WANTED = 1024  # more is never in use, and select() fails beyond
OPEN_ONES = "/dev/fd"


def raise_limit() -> int:
    """As many as wanted, where the system lets us; gives how many there may be now."""
    now, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = WANTED if most == resource.RLIM_INFINITY else min(WANTED, most)
    if 0 <= now < wanted:  # less than 0: without a limit
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, most))
        return wanted
    return now if now >= 0 else WANTED


def are_short() -> bool:
    """Whether there are no more left than are to be kept free."""
    limit, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
    try:
        with os.scandir(OPEN_ONES) as found:
            return 0 <= limit <= sum(1 for _ in found) + KEPT_FREE
    except OSError:  # to look takes one too
        return True
