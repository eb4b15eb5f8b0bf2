"""What studies by questions are made with, where a daemon serves the phone page.

What a rig check found takes a library of statistics to say, which the daemon never loads: a process
of its own says it, once for each run that may have changed it.
"""

import asyncio
import json
import sys
from collections.abc import Callable
from pathlib import Path

from hostctl.channels.view.data import Json
from hostctl.daemon.reports.child import run_beside
from hostctl.errors import DaemonError
from hostctl.store.store import Store

WITHIN_S = 60.0

RigCommand = Callable[[Path, str], list[str]]
"""From the database and a machine's name to the words of a command. On standard output it says what
the machine's last rig check found, as one line of JSON; `null`: there is none."""


def rig_command(database: Path, machine: str) -> list[str]:
    """A program of ours, in a process of its own."""
    own = [sys.executable, "-P", "-m", "hostctl.drafts.rig_known"]
    return [*own, str(database), machine]


class RigsKnown:
    """What the last rig check of each machine found."""

    def __init__(self, store: Store, command: RigCommand = rig_command) -> None:
        self._store = store
        self._command = command
        self._known: dict[str, tuple[int, Json | None]] = {}  # up to which run
        self._one_at_a_time = asyncio.Lock()

    async def of(self, machine: str) -> Json | None:
        """Of this machine; None: no check says anything. Raises DaemonError, StoreError."""
        runs = await self._store.runs()
        complete = [one.run for one in runs if one.complete and one.new.machine == machine]
        if not complete:
            return None
        async with self._one_at_a_time:
            until, known = self._known.get(machine, (0, None))
            if until < complete[-1]:
                known = await self._asked(machine)
                self._known[machine] = complete[-1], known
            return known

    async def _asked(self, machine: str) -> Json | None:
        try:
            argv = self._command(self._store.path, machine)
            ended = await run_beside(argv, within_s=WITHIN_S)
            if ended.exit_code == 0:
                found: Json | None = json.loads("".join(ended.said))
                return found
        except (OSError, ValueError, TimeoutError):
            pass
        what = "what its last rig check found can't be told just now"
        raise DaemonError(machine, what, "Try again in a moment.")
