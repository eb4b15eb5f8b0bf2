"""What fails in the daemon is logged and begun again, and touches nobody else."""

import asyncio
from collections.abc import Awaitable, Callable

from hostctl.daemon.log.event_log import EventLog, Level
from hostctl.daemon.log.fault_log import keep_fault
from hostctl.errors import HostctlError

AGAIN_S = 5.0
LONGEST_AGAIN_S = 60.0


async def kept_going(
    name: str,
    serve: Callable[[], Awaitable[None]],
    log: EventLog,
    on_failure: Callable[[str], None] = lambda why: None,
) -> None:
    """Serve until cancelled; after a failure begin again, ever more patiently.

    on_failure: told why, in words. The same trouble is logged once. One that `serve` itself ends
    without a failure is not begun again.
    """
    said, wait_s = "", AGAIN_S
    while True:
        try:
            await serve()
        except Exception as failure:  # one of the five places where all is caught
            why = in_words(failure)
            on_failure(why)
            if why != said:
                log.say("failed", Level.FAULT, what=name, why=why)
            wait_s = min(2 * wait_s, LONGEST_AGAIN_S) if why == said else AGAIN_S
            said = why
        else:
            return
        await asyncio.sleep(wait_s)


def in_words(failure: Exception) -> str:
    """For a user; our own bugs are kept in the fault log, their traceback with them."""
    if isinstance(failure, ExceptionGroup) and len(failure.exceptions) == 1:
        return in_words(failure.exceptions[0])
    return str(failure) if isinstance(failure, HostctlError) else keep_fault(failure)
