"""A probe loop beside a bare script that only sends the same G-code, in the same sitting.

Both drive a simulated printer at a printer's own pace, over TCP, each a process of its own. First
the loop runs, and every line that it sends is noted. Then a bare script, which knows nothing and
keeps nothing, sends those lines one after the other, each once the one before is acknowledged. What
the loop takes longer, from its first touch to its last, is what we add.

Run: python tests/benchmarks/bench_loop.py [touches [times]]
"""

import contextlib
import shutil
import socket
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from bench_share import Relay
from bench_soak import printer_on_tcp, trials_done
from daemon_process import Daemon

GOAL = 0.99

STUDY = """\
study: small
title: A loop
kind: probe-loop
points: [front-left]
trials: {trials}
reference: datum
cycle: {{settle_s: 0, countdown_s: 1, probe_lift_mm: 2}}
gauge: {{kind: probe, resolution_mm: 0.0025, plausible_mm: 5}}
loop: {{control_limit: true, known_to: 0.03}}
"""


def of_the_loop(touches: int) -> tuple[float, list[bytes]]:
    """How long from the first touch to the last, s, and what was sent up to there."""
    runtime = Path(tempfile.mkdtemp(prefix="hostctl-"))
    with printer_on_tcp(speed="real") as port, tempfile.TemporaryDirectory() as folder:
        relay = Relay(port)
        relay.start()
        daemon = Daemon(Path(folder), runtime)
        daemon.patience_s = 3600.0
        daemon.write_machine("bench", relay.url, like="sim-tri")
        daemon.write_host("bench")
        (daemon.folder / "studies" / "small.yaml").write_text(STUDY.format(trials=touches))
        daemon.start()
        trials_done(daemon, 1)
        daemon.end()
        daemon.close()
    shutil.rmtree(runtime)
    lines = [data for _, _, data in relay.waited]
    first, last = ends(lines)
    return relay.waited[last][0] - relay.waited[first][0], lines[:last]


def ends(lines: list[bytes]) -> tuple[int, int]:
    """Which lines are the first touch and the last."""
    touches = [at for at, line in enumerate(lines) if b"G30" in line]
    return touches[0], touches[-1]


def of_the_script(lines: list[bytes]) -> float:
    """How long a bare script takes for the same lines from the first touch on, s."""
    first, _ = ends(lines)
    with printer_on_tcp(speed="real") as port:
        host, _, number = port.removeprefix("socket://").rpartition(":")
        with socket.create_connection((host, int(number))) as board:
            board.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            hush(board)
            for line in lines[:first]:
                send(board, plain(line))
            began_s = time.perf_counter()
            for line in lines[first:]:
                send(board, plain(line))
            return time.perf_counter() - began_s


def hush(board: socket.socket) -> None:
    """What it says as it wakes up."""
    board.settimeout(2.0)
    with contextlib.suppress(TimeoutError):
        while board.recv(4096):
            pass
    board.settimeout(60.0)


def plain(line: bytes) -> bytes:
    """Without number and checksum, which are the link's."""
    text = line.split(b"*")[0]
    return (text.split(b" ", 1)[1] if text.startswith(b"N") else text).strip() + b"\n"


def send(board: socket.socket, line: bytes) -> None:
    board.sendall(line)
    heard = b""
    while not any(each.startswith(b"ok") for each in heard.split(b"\n")):
        heard += board.recv(4096)


def main() -> None:
    touches = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    times = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    for _ in range(times):
        loop_s, lines = of_the_loop(touches)
        script_s = of_the_script(lines)
        print(
            f"{touches} touches, {len(lines)} lines: loop {loop_s:.2f} s, bare script "
            f"{script_s:.2f} s; the machine's share {script_s / loop_s:.2%}, goal {GOAL:.0%}",
            flush=True,
        )


if __name__ == "__main__":
    main()
