"""A program of ours run beside the daemon, so that its work stands in no machine's way.

It comes last wherever the computer is short of something: processor (nice), memory (the kernel ends
it first), time. It can't outlast the daemon, but where that is killed; then the kernel ends it once
it has used its time.
"""

import asyncio
import os
import resource
import signal
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

NICE = 15  # of 19
FIRST_TO_GO = "1000"  # the kernel's highest, proc(5), oom_score_adj
MOST_HEARD = 16 * 1024  # bytes of what it says; the rest is passed over
CHUNK = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """How the program ended, and what it said on its way."""

    exit_code: int
    said: list[str]
    complained: list[str]


async def run_beside(argv: list[str], *, within_s: float) -> Ended:
    """Run it to its end. Its output is UTF-8, whatever the locale.

    Raises OSError when it can't be started, TimeoutError when it takes too long; it is killed then,
    and when this is cancelled.
    """
    process = await asyncio.create_subprocess_exec(
        *argv,
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        env={**os.environ, "PYTHONUTF8": "1"},
        process_group=0,
    )
    try:
        _comes_last(process.pid, within_s)
        async with asyncio.timeout(within_s):
            said, complained = await asyncio.gather(
                _lines_of(process.stdout), _lines_of(process.stderr)
            )
            exit_code = await process.wait()
    finally:
        if process.returncode is None:
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            await process.wait()
    return Ended(exit_code=exit_code, said=said, complained=complained)


def _comes_last(pid: int, within_s: float) -> None:
    """What it may not be told (it has ended already, say) is left."""
    with suppress(OSError):
        os.setpriority(os.PRIO_PROCESS, pid, NICE)
    with suppress(OSError):
        resource.prlimit(pid, resource.RLIMIT_CPU, (int(within_s), int(within_s)))
    with suppress(OSError):
        Path(f"/proc/{pid}/oom_score_adj").write_text(FIRST_TO_GO)


async def _lines_of(stream: asyncio.StreamReader | None) -> list[str]:
    """Without those that are empty."""
    assert stream is not None
    heard = bytearray()
    while chunk := await stream.read(CHUNK):
        heard += chunk[: MOST_HEARD - len(heard)]
    return [line.strip() for line in heard.decode(errors="replace").splitlines() if line.strip()]
