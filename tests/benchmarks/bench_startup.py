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
HOSTCTL = str(Path(sys.executable).with_name("hostctl"))  # as a user types it
COMMANDS = {
    "bare interpreter": [sys.executable, "-c", "pass"],
    "import argparse": [sys.executable, "-c", "import argparse"],
    "hostctl --help": [HOSTCTL, "--help"],
    "hostctl run --help": [HOSTCTL, "run", "--help"],
    "hostctl runs": [HOSTCTL, "runs"],
    "hostctl show 1": [HOSTCTL, "show", "1"],
    "import numpy": [sys.executable, "-c", "import numpy"],
}
STUDY = """\
study: rig-check
title: Thirty readings
kind: rig-check
points: [front-left]
trials: 30
cycle: {countdown_s: 0, turn_away: null}
"""
GOALS = {"hostctl --help": 2.2}


def seconds(words: list[str], env: dict[str, str]) -> float:
    began_s = time.perf_counter()
    subprocess.run(words, env=env, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - began_s


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, "HOSTCTL_DATABASE": str(Path(folder) / "kept.sqlite")}
        study = Path(folder) / "study.yaml"
        study.write_text(STUDY)
        run = [HOSTCTL, "run", str(study), "--machine", "sim-220", "--simulated-people"]
        seconds(run, env)  # something to show
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
