"""Turnaround on a pseudo-terminal: from `ok` to the next line sent, beside a raw loop.

The peer lives in another process and takes the time from the end of its writing `ok` to the
arrival of the next whole line. Product and floor take turns, round by round.

Run: python tests/benchmarks/bench_link.py [rounds]
"""

import asyncio
import multiprocessing
import os
import statistics
import sys
import time
import tty
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from hostctl.link.link import Link
from hostctl.link.port import PortSettings
from hostctl.link.serial_port import open_serial

LINES = 3000
WARM_UP = 300
COMMAND = "G1 X110.0 F6000"
RAW_LINE = b"N1234 G1 X110.0 F6000*100\n"
Turnarounds = list[float]


def peer(master: int, results: Connection) -> None:
    """Answer each line with `ok`; between `b` and `e` on the pipe, take the times."""
    clock = time.perf_counter_ns
    taken: list[int] = []
    read, write = os.read, os.write
    line = read(master, 4096)
    while True:
        if line.startswith(b"END"):
            results.send([ns / 1000 for ns in taken[WARM_UP:]])
            taken.clear()
            line = read(master, 4096)
            continue
        answer = b"FIRMWARE_NAME:peer\nok\n" if b"M115" in line else b"ok\n"
        write(master, answer)
        begun = clock()
        line = read(master, 4096)
        while not line.endswith(b"\n"):
            line += read(master, 4096)
        taken.append(clock() - begun)


def neighbour() -> None:
    """Keep one core busy."""
    while True:
        sum(range(10_000))


def raw_loop(path: str) -> float:
    """The floor: a fixed line out, anything in. Gives CPU microseconds a line."""
    descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY)
    begun = time.process_time()
    for _ in range(LINES):
        os.write(descriptor, RAW_LINE)
        os.read(descriptor, 4096)
    used = time.process_time() - begun
    os.write(descriptor, b"END\n")
    os.close(descriptor)
    return used / LINES * 1e6


async def _through_link(path: str) -> float:
    async with Link(path, PortSettings(baud=250_000), open_port=open_serial).running() as link:
        await link.connect()
        begun = time.process_time()
        for _ in range(LINES):
            await link.do(COMMAND, deadline_s=5)
        return (time.process_time() - begun) / LINES * 1e6


def through_link(path: str) -> float:
    """The product: number, checksum, replies understood, deadline, wire log."""
    used = asyncio.run(_through_link(path))
    descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY)
    os.write(descriptor, b"END\n")
    os.close(descriptor)
    return used


def measure(run: Callable[[str], float]) -> tuple[float, float, float]:
    """Median and 99th percentile of the turnaround, and CPU, all in microseconds."""
    master, slave = os.openpty()
    tty.setraw(slave)
    here, there = multiprocessing.Pipe()
    process = multiprocessing.Process(target=peer, args=(master, there), daemon=True)
    process.start()
    cpu_us = run(os.ttyname(slave))
    taken: Turnarounds = here.recv()
    process.kill()
    process.join()
    os.close(master)
    os.close(slave)
    taken.sort()
    return taken[len(taken) // 2], taken[len(taken) * 99 // 100], cpu_us


def compare(rounds: int, title: str) -> dict[str, tuple[float, ...]]:
    """Interleaved rounds of floor and product; prints medians over the rounds and ratios."""
    runs = {"raw loop": raw_loop, "link": through_link}
    found: dict[str, list[tuple[float, float, float]]] = {name: [] for name in runs}
    for _ in range(rounds):
        for name, run in runs.items():
            found[name].append(measure(run))
    medians = {
        name: tuple(statistics.median(column) for column in zip(*rows, strict=True))
        for name, rows in found.items()
    }
    print(f"\n{title}: {rounds} rounds of {LINES} lines\n{'':10} median us   p99 us   CPU us/line")
    for name, (median, p99, cpu) in medians.items():
        print(f"{name:10} {median:9.1f} {p99:8.1f} {cpu:13.1f}")
    ratios = [
        statistics.median(ours[i] / floor[i] for floor, ours in zip(*found.values(), strict=True))
        for i in range(2)
    ]
    print(f"ratio      {ratios[0]:9.2f} {ratios[1]:8.2f}")
    return medians


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    quiet = compare(rounds, "Quiet")
    print("goal            1.60     2.00          25.0")
    busy_process = multiprocessing.Process(target=neighbour, daemon=True)
    busy_process.start()
    busy = compare(rounds, "Next to another process that keeps a core busy")
    busy_process.kill()
    busy_process.join()
    print(
        f"\nlink's p99 beside it against quiet: {busy['link'][1] / quiet['link'][1]:.2f} (goal 2.0)"
    )


if __name__ == "__main__":
    main()
