"""The whole command `hostctl analyse` beside the bare import of numpy, and how it grows.

    python tests/benchmarks/bench_analyse.py [--growth]

Floor: a fresh `python -c "import numpy"`, in the same interleaved run of medians. Goal: 30 readings
at most 1.5 x. With --growth: time and memory of 1e3 to 1e6 readings in a file, beside csv.reader
and float alone in a process that has numpy loaded.
"""

import os
import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 11
GOAL = 1.5
READ_ONLY = """
import csv, sys, numpy
with open(sys.argv[1], newline="") as file:
    rows = csv.reader(file)
    next(rows)
    print(numpy.std(numpy.fromiter((float(row[0]) for row in rows), float)))
"""


def written(path: Path, n: int, sigma_mm: float, methods: int = 1) -> str:
    """n readings to 0.01 mm, in `methods` methods of two operators at two points."""
    chance = random.Random(n)
    with path.open("w") as file:
        file.write("reading_mm,method,operator,point\n")
        for k in range(n):
            value = round(chance.gauss(0.0, sigma_mm), 2)
            hands = f"{k // methods % 2},{k // methods // 2 % 2}" if methods > 1 else "a,p"
            file.write(f"{value:.2f},m{k % methods},{hands}\n")
    return str(path)


def seconds(words: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def medians(commands: dict[str, list[str]], rounds: int) -> dict[str, float]:
    times: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(rounds):
        for name, words in commands.items():
            times[name].append(seconds(words))
    return {name: statistics.median(several) for name, several in times.items()}


def peak_mib(words: list[str]) -> float:
    """Of one process, asked in a child of its own, so that others do not count."""
    reader, writer = os.pipe()
    if os.fork() == 0:
        seconds(words)
        kib = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
        os.write(writer, str(kib).encode())
        os._exit(0)
    os.close(writer)
    with os.fdopen(reader) as answer:
        return int(answer.read()) / 1024


def thirty(folder: Path) -> None:
    analyse = ["-m", "hostctl", "analyse"]
    readings = written(folder / "thirty.csv", 30, 0.012)
    rig = ["--rig", written(folder / "rig.csv", 20, 0.005), "--tolerance", "0.05"]
    several = written(folder / "sixty.csv", 60, 0.012, methods=3)
    found = medians(
        {
            "import numpy (floor)": ["-c", "import numpy"],
            "30 readings": [*analyse, readings, *rig],
            "30 readings, explained": [*analyse, readings, *rig, "--explain"],
            "30 readings as JSON": [*analyse, readings, *rig, "--json"],
            "60 readings, 3 methods": [*analyse, several, *rig],
        },
        ROUNDS,
    )
    floor = found["import numpy (floor)"]
    print(f"whole command, median of {ROUNDS}       ms   ratio   goal {GOAL} (30 readings)")
    for name, median in found.items():
        print(f"  {name:26} {1e3 * median:9.1f} {median / floor:7.2f}")


def growth(folder: Path) -> None:
    print("readings in a file      read only s   analyse s   ratio   MiB")
    for n in (1_000, 10_000, 100_000, 1_000_000):
        path = written(folder / f"{n}.csv", n, 0.012)
        words = ["-m", "hostctl", "analyse", path, "--tolerance", "0.05"]
        found = medians({"read": ["-c", READ_ONLY, path], "analyse": words}, 3)
        ratio = found["analyse"] / found["read"]
        print(
            f"  {n:12,} {found['read']:19.2f} {found['analyse']:11.2f} {ratio:7.2f} "
            f"{peak_mib(words):5.0f}"
        )


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        thirty(Path(folder))
        if "--growth" in sys.argv:
            growth(Path(folder))


if __name__ == "__main__":
    main()
