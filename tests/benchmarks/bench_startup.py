"""How fast the program starts, beside the bare interpreter in the same interleaved run.

    python tests/benchmarks/bench_startup.py

Goal: `hostctl --help` at most 2.2 times the bare interpreter.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 21
COMMANDS = {
    "bare interpreter": ["-c", "pass"],
    "import argparse": ["-c", "import argparse"],
    "hostctl --help": ["-m", "hostctl", "--help"],
    "hostctl run --help": ["-m", "hostctl", "run", "--help"],
    "hostctl runs": ["-m", "hostctl", "runs"],
    "hostctl show 1": ["-m", "hostctl", "show", "1"],
}
GOALS = {"hostctl --help": 2.2}


def seconds(words: list[str], env: dict[str, str]) -> float:
    began_s = time.perf_counter()
    subprocess.run([sys.executable, *words], env=env, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - began_s


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, "HOSTCTL_DATABASE": str(Path(folder) / "kept.sqlite")}
        record = ["-m", "hostctl", "run", "rig-check", "--machine", "sim-220"]
        record += ["--simulated-people", "--jsonl"]
        seconds(record, env)  # a run to show; its countdowns are real
        took: dict[str, list[float]] = {name: [] for name in COMMANDS}
        for _ in range(ROUNDS):
            for name, words in COMMANDS.items():
                took[name].append(seconds(words, env))
    floor_s = statistics.median(took["bare interpreter"])
    for name, times in took.items():
        median_s = statistics.median(times)
        goal = f"   goal {GOALS[name]}" if name in GOALS else ""
        print(f"{name:<20} {median_s * 1000:7.1f} ms   {median_s / floor_s:5.2f} x{goal}")


if __name__ == "__main__":
    main()
