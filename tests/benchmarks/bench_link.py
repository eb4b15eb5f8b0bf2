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
from collections import deque
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


async def _through_link(path: str, ahead: int) -> float:
    async with Link(path, PortSettings(baud=250_000), open_port=open_serial).running() as link:
        await link.connect()
        begun = time.process_time()
        given = deque(link.order(COMMAND, deadline_s=5) for _ in range(ahead))
        for _ in range(LINES):
            given.append(link.order(COMMAND, deadline_s=5))
            await given.popleft()
        used = time.process_time() - begun
        for answer in given:
            await answer
    return used / LINES * 1e6


def through_link(ahead: int) -> Callable[[str], float]:
    """The product: number, checksum, replies understood, deadline, wire log.

    ahead: orders given before the answer to the one before is had. 0: each is awaited first, so
    the caller's own waking is in the turnaround.
    """

    def run(path: str) -> float:
        used = asyncio.run(_through_link(path, ahead))
        descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY)
        os.write(descriptor, b"END\n")
        os.close(descriptor)
        return used

    return run


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


def watched_raw(path: str) -> float:
    """What watching a descriptor in an event loop costs at the least: no protocol at all."""

    async def watch() -> float:
        loop = asyncio.get_running_loop()
        descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        finished = loop.create_future()
        left = LINES

        def readable() -> None:
            nonlocal left
            os.read(descriptor, 4096)
            left -= 1
            os.write(descriptor, RAW_LINE if left else b"END\n")
            if not left:
                loop.remove_reader(descriptor)
                finished.set_result(None)

        loop.add_reader(descriptor, readable)
        begun = time.process_time()
        os.write(descriptor, RAW_LINE)
        await finished
        used = time.process_time() - begun
        os.close(descriptor)
        return used / LINES * 1e6

    return asyncio.run(watch())


RUNS = {
    "raw loop": raw_loop,
    "add_reader": watched_raw,
    "link, queued": through_link(2),
    "link, awaited": through_link(0),
}


def compare(rounds: int, title: str) -> dict[str, list[float]]:
    """Interleaved rounds; prints medians over the rounds and of the ratios to the raw loop."""
    found: dict[str, list[tuple[float, float, float]]] = {name: [] for name in RUNS}
    for _ in range(rounds):
        for name, run in RUNS.items():
            found[name].append(measure(run))
    print(f"\n{title}: {rounds} rounds of {LINES} lines, microseconds")
    print(f"{'':14} median    p99  CPU/line  median/raw  p99/raw  CPU/raw")
    medians = {}
    for name, rows in found.items():
        medians[name] = [statistics.median(column) for column in zip(*rows, strict=True)]
        pairs = list(zip(rows, found["raw loop"], strict=True))
        ratios = [statistics.median(row[i] / raw[i] for row, raw in pairs) for i in range(3)]
        print(
            f"{name:14}{medians[name][0]:7.1f}{medians[name][1]:7.1f}{medians[name][2]:10.1f}"
            f"{ratios[0]:12.2f}{ratios[1]:9.2f}{ratios[2]:9.2f}"
        )
    return medians


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    quiet = compare(rounds, "Quiet")
    print(f"{'goal':14}{'':14}{25.0:10.1f}{1.6:12.2f}{2.0:9.2f}")
    busy_process = multiprocessing.Process(target=neighbour, daemon=True)
    busy_process.start()
    busy = compare(rounds, "Next to another process that keeps a core busy")
    busy_process.kill()
    busy_process.join()
    for name in RUNS:
        print(f"p99 beside it / quiet, {name:14} {busy[name][1] / quiet[name][1]:.2f} (goal 2.0)")


if __name__ == "__main__":
    main()
