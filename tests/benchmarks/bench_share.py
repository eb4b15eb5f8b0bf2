"""The share of wall time in which the machine is the limit: a probe loop at a printer's own pace.

A relay between the daemon and a simulated printer (real time, TCP) notes when an acknowledgement
went to the daemon and when the next line came back. All the rest is the machine's own time.
Prompts and the countdown, which wait for people on purpose, lie outside the touches counted.

Run: python tests/benchmarks/bench_share.py [touches]
"""

import select
import shutil
import socket
import sys
import tempfile
import threading
import time
from contextlib import suppress
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from bench_soak import PROBING, printer_on_tcp, trials_done
from daemon_process import Daemon

GOAL = 0.99


class Relay(threading.Thread):
    """Passes bytes both ways, and notes how long the printer waited for its next line."""

    def __init__(self, printer: str) -> None:
        super().__init__(daemon=True)
        host, _, port = printer.removeprefix("socket://").rpartition(":")
        self._printer = (host, int(port))
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.url = f"socket://127.0.0.1:{self._listener.getsockname()[1]}"
        self.waited: list[tuple[float, float, bytes]] = []  # when, how long, for what

    def run(self) -> None:
        while True:
            theirs, _ = self._listener.accept()
            with suppress(OSError), theirs, socket.create_connection(self._printer) as ours:
                self._pass(theirs, ours)

    def _pass(self, daemon: socket.socket, printer: socket.socket) -> None:
        for end in (daemon, printer):
            end.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        told_s: float | None = None
        while True:
            for end in select.select([daemon, printer], [], [])[0]:
                data = end.recv(65536)
                now_s = time.perf_counter()
                if not data:
                    return
                if end is printer:
                    daemon.sendall(data)
                    if any(line.startswith(b"ok") for line in data.split(b"\n")):
                        told_s = time.perf_counter()
                else:
                    printer.sendall(data)
                    if told_s is not None:
                        self.waited.append((now_s, now_s - told_s, data))
                        told_s = None


def main() -> None:
    touches = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    runtime = Path(tempfile.mkdtemp(prefix="hostctl-"))
    with printer_on_tcp(speed="real") as port, tempfile.TemporaryDirectory() as folder:
        relay = Relay(port)
        relay.start()
        daemon = Daemon(Path(folder), runtime)
        daemon.patience_s = 3600.0
        daemon.write_machine("bench", relay.url, like="sim-tri")
        daemon.write_host("bench")
        study = PROBING.format(trials=touches).replace("settle_s: 0", "settle_s: 1")
        (daemon.folder / "studies" / "small.yaml").write_text(study)
        daemon.start()
        trials_done(daemon, 1)
        daemon.end()
        daemon.close()
    shutil.rmtree(runtime)
    probed = [index for index, (_, _, data) in enumerate(relay.waited) if b"G30" in data]
    counted = relay.waited[probed[0] : probed[-1] + 1]
    wall_s = counted[-1][0] - counted[0][0]
    waited_s = sum(wait for _, wait, _ in counted[1:])
    longest_ms = max(wait for _, wait, _ in counted[1:]) * 1000
    share = 1 - waited_s / wall_s
    print(
        f"{touches} touches, {wall_s:.1f} s, {len(counted)} lines, longest wait {longest_ms:.1f} ms"
    )
    print(f"the machine was the limit for {share:.3%} of the time; goal at least {GOAL:.0%}")


if __name__ == "__main__":
    main()
