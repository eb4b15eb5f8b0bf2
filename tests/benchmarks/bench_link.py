"""Turnaround on a pseudo-terminal: from `ok` to the next line sent, beside a raw loop.

The peer lives in another process and takes the time from the end of its writing `ok` to the
arrival of the next whole line. Product and floor take turns, round by round, over the same
commands. The floor is a loop of read and write that does what must be done for a line and no more:
number it, put its checksum, see that the answer is whole and `ok`. CPU is that of the process that
sends, from the first line to the last; the peer has its own.

Three more rows say where the time goes: read and write with nothing said or understood; the
floor's work in an event loop; and that with a coroutine that awaits each answer. A run of ours
awaits each answer; orders queued ahead of time are what a caller can have who does not.

Run: python tests/benchmarks/bench_link.py [rounds]
On a computer with other things to do: chrt -f 5 python tests/benchmarks/bench_link.py [rounds]
"""

import asyncio
import multiprocessing
import os
import statistics
import sys
import time
import tty
from collections import deque
from collections.abc import Awaitable, Callable
from functools import reduce
from itertools import cycle, islice
from multiprocessing.connection import Connection
from operator import xor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from hostctl.link.link import Link
from hostctl.link.patience import Patience
from hostctl.link.port import PortSettings
from hostctl.link.reply import Reply
from hostctl.link.serial_port import open_serial

LINES = 3000
WARM_UP = 300
COMMANDS = [f"G1 X{30 + n}.{n % 10} Y{190 - n} F3000" for n in range(160)]
FIXED_LINE = b"N1234 G1 X110.0 Y110 F3000*100\n"
WIRE_US = 1160.0
"""A line of 26 bytes and its `ok` at 250,000 baud."""


def peer(master: int, results: Connection, answers_after_us: float = 0.0) -> None:
    """Answer each line with `ok`; at a line that begins with END hand over the times."""
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
        due = clock() + answers_after_us * 1000
        while clock() < due:
            pass
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


def numbered(line: int, command: str) -> bytes:
    """What the floor does to number a line, written as plainly as can be."""
    body = b"N%d %b" % (line, command.encode())
    return b"%b*%d\n" % (body, reduce(xor, body))


def bare_loop(path: str) -> float:
    """No protocol at all: a fixed line out, anything in. Gives CPU microseconds a line."""
    descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY)
    begun = time.process_time()
    for _ in range(LINES):
        os.write(descriptor, FIXED_LINE)
        os.read(descriptor, 4096)
    return _ended(descriptor, begun)


def raw_loop(path: str) -> float:
    """The floor. Gives CPU microseconds a line."""
    descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY)
    begun = time.process_time()
    for line, command in enumerate(islice(cycle(COMMANDS), LINES)):
        os.write(descriptor, numbered(line, command))
        answer = os.read(descriptor, 4096)
        while not answer.endswith(b"\n"):
            answer += os.read(descriptor, 4096)
        if not answer.startswith(b"ok"):
            raise RuntimeError(f"not acknowledged: {answer!r}")
    return _ended(descriptor, begun)


def _ended(descriptor: int, begun: float) -> float:
    used = time.process_time() - begun
    os.write(descriptor, b"END\n")
    os.close(descriptor)
    return used / LINES * 1e6


def watched_loop(path: str) -> float:
    """The floor's work in an event loop that watches the descriptor: what asyncio costs alone."""
    return asyncio.run(_watched(path))


def watched_and_awaited(path: str) -> float:
    """The same, each line sent by a coroutine that awaits the answer to the one before."""
    return asyncio.run(_watched_and_awaited(path))


async def _watched_and_awaited(path: str) -> float:
    loop = asyncio.get_running_loop()
    descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    answered: asyncio.Future[None] = loop.create_future()

    def readable() -> None:
        answer = os.read(descriptor, 4096)
        if not answer.endswith(b"\n") or not answer.startswith(b"ok"):
            raise RuntimeError(f"not acknowledged: {answer!r}")
        answered.set_result(None)

    loop.add_reader(descriptor, readable)
    begun = time.process_time()
    for line, command in enumerate(islice(cycle(COMMANDS), LINES)):
        answered = loop.create_future()
        os.write(descriptor, numbered(line, command))
        await answered
    loop.remove_reader(descriptor)
    return _ended(descriptor, begun)


async def _watched(path: str) -> float:
    loop = asyncio.get_running_loop()
    descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    finished = loop.create_future()
    lines = enumerate(islice(cycle(COMMANDS), LINES))

    def send_next() -> None:
        for line, command in lines:
            os.write(descriptor, numbered(line, command))
            return
        finished.set_result(None)

    def readable() -> None:
        answer = os.read(descriptor, 4096)
        if not answer.endswith(b"\n") or not answer.startswith(b"ok"):
            raise RuntimeError(f"not acknowledged: {answer!r}")
        send_next()

    loop.add_reader(descriptor, readable)
    begun = time.process_time()
    send_next()
    await finished
    loop.remove_reader(descriptor)
    return _ended(descriptor, begun)


async def _awaited(link: Link) -> None:
    for command in islice(cycle(COMMANDS), LINES):
        await link.do(command, deadline_s=5)


async def _queued(link: Link) -> None:
    given: deque[asyncio.Future[Reply]] = deque()
    for command in islice(cycle(COMMANDS), LINES):
        given.append(link.order(command, deadline_s=5))
        if len(given) > 2:
            await given.popleft()
    for answer in given:
        await answer


def through_link(orders: Callable[[Link], Awaitable[None]]) -> Callable[[str], float]:
    """The product: number, checksum, replies understood, deadline, wire log."""

    async def run(path: str) -> float:
        patience = Patience(listen_s=0.0)  # nobody boots at the other end
        settings = PortSettings(baud=250_000)
        link = Link(path, settings, open_port=open_serial, patience=patience)
        async with link.running():
            await link.connect()
            begun = time.process_time()
            await orders(link)
            used = time.process_time() - begun
        return used / LINES * 1e6

    def timed(path: str) -> float:
        used = asyncio.run(run(path))
        descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY)
        os.write(descriptor, b"END\n")
        os.close(descriptor)
        return used

    return timed


RUNS = {
    "bare loop": bare_loop,
    "raw loop": raw_loop,
    "add_reader": watched_loop,
    "same, awaited": watched_and_awaited,
    "link, queued": through_link(_queued),
    "link, awaited": through_link(_awaited),
}


def measure(run: Callable[[str], float], answers_after_us: float) -> tuple[float, float, float]:
    """Median and 99th percentile of the turnaround, and CPU, all in microseconds."""
    master, slave = os.openpty()
    tty.setraw(slave)
    here, there = multiprocessing.Pipe()
    given = (master, there, answers_after_us)
    process = multiprocessing.Process(target=peer, args=given, daemon=True)
    process.start()
    cpu_us = run(os.ttyname(slave))
    taken: list[float] = here.recv()
    process.kill()
    process.join()
    os.close(master)
    os.close(slave)
    taken.sort()
    return taken[len(taken) // 2], taken[len(taken) * 99 // 100], cpu_us


def compare(rounds: int, title: str, answers_after_us: float = 0.0) -> dict[str, list[float]]:
    """Interleaved rounds; prints medians over the rounds and of the ratios to the raw loop."""
    found: dict[str, list[tuple[float, float, float]]] = {name: [] for name in RUNS}
    for _ in range(rounds):
        for name, run in RUNS.items():
            found[name].append(measure(run, answers_after_us))
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
    print(f"{'goal':14}{'':14}{25.0:10.1f}{1.6:12.2f}{2.0:9.2f}")
    return medians


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    quiet = compare(rounds, "Answered at once")
    compare(rounds, f"Answered after {WIRE_US:.0f} us, as over a wire", WIRE_US)
    busy_process = multiprocessing.Process(target=neighbour, daemon=True)
    busy_process.start()
    busy = compare(rounds, "Next to another process that keeps a core busy")
    busy_process.kill()
    busy_process.join()
    for name in RUNS:
        print(f"p99 beside it / quiet, {name:14} {busy[name][1] / quiet[name][1]:.2f} (goal 2.0)")


if __name__ == "__main__":
    main()
