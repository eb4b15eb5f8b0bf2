"""A day's work scaled down: ten thousand trials in one daemon, and how its memory grows.

A probe loop on a simulated printer, in a process of its own at the highest speed, run after run.
Prints memory, trials a second and CPU a trial after each run. SQLite's page cache grows with the
database to its bound of 2 MiB, reached after some 13,000 readings; nothing else should grow.

Run: python tests/benchmarks/bench_soak.py [trials a run [runs]]
"""

import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "daemon"))

from daemon_process import Daemon  # noqa: E402  # the path has to be set first

PROBING = """\
study: small
title: A soak
kind: probe-loop
points: [front-left]
trials: {trials}
reference: datum
cycle: {{settle_s: 0, countdown_s: 1, probe_lift_mm: 2}}
gauge: {{kind: probe, resolution_mm: 0.0025, plausible_mm: 5}}
"""


@contextmanager
def printer_on_tcp(speed: str = "max") -> Iterator[str]:
    """Its port's url."""
    command = [sys.executable, "-m", "hostctl_simulators", "printer", "workshop-tri"]
    command += ["--tcp", "127.0.0.1:0", "--speed", speed]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as printer:
        assert printer.stdout is not None
        try:
            yield printer.stdout.readline().strip()
        finally:
            printer.terminate()
            printer.communicate()


def memory_mib(pid: int) -> float:
    status = Path(f"/proc/{pid}/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def cpu_s(pid: int) -> float:
    tasks = Path(f"/proc/{pid}/task").iterdir()
    return sum(int((task / "schedstat").read_text().split()[0]) for task in tasks) / 1e9


def trials_done(daemon: Daemon, run: int) -> None:
    """One whole run."""
    daemon.start_run("bench", study="small")
    prompt = daemon.until("bench", lambda found: found["prompt"])["prompt"]
    assert isinstance(prompt, dict)
    daemon.ask("answer", text="done", prompt_id=prompt["prompt_id"])
    daemon.until("bench", lambda found: f"Run {run} is complete" in str(found["notice"]))


def main() -> None:
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    runs = int(sys.argv[2]) if len(sys.argv) > 2 else 10
    runtime = Path(tempfile.mkdtemp(prefix="hostctl-"))
    with printer_on_tcp() as port, tempfile.TemporaryDirectory() as folder:
        daemon = Daemon(Path(folder), runtime)
        daemon.patience_s = 3600.0
        daemon.write_machine("bench", port, like="sim-tri")
        daemon.write_host("bench")
        (daemon.folder / "studies" / "small.yaml").write_text(PROBING.format(trials=trials))
        daemon.start()
        assert daemon.process is not None
        pid = daemon.process.pid
        print("   trials   memory MiB   trials/s   CPU ms/trial")
        for run in range(1, runs + 1):
            begun_s, used_s = time.perf_counter(), cpu_s(pid)
            trials_done(daemon, run)
            rate = trials / (time.perf_counter() - begun_s)
            used_ms = (cpu_s(pid) - used_s) * 1000 / trials
            print(
                f"{run * trials:9} {memory_mib(pid):12.2f} {rate:10.1f} {used_ms:14.2f}", flush=True
            )
        daemon.end()
        daemon.close()
    shutil.rmtree(runtime)


if __name__ == "__main__":
    main()
