"""Turnaround on a pseudo-terminal while a report is made, the page polled, readings kept.

One process does what the daemon's does: a line kept busy, a store committing twenty readings a
second, the phone page served. The report, of a million rows, is made and the page polled by other
processes, as they are in life. Quiet and busy rounds take turns; the peer that takes the times is
in a process of its own. With two cores the peer, the report and the daemon share them, so a plain
loop that reads and writes the same lines (no event loop, nothing else in it) is taken through the
same two states.

Run: python tests/benchmarks/bench_load.py [rounds]
"""

import asyncio
import multiprocessing
import os
import statistics
import subprocess
import sys
import tempfile
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from itertools import cycle, islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parent))

from bench_link import COMMANDS, LINES, numbered, peer

from hostctl.channels.page.access.guards import COOKIE
from hostctl.channels.page.access.sessions import Sessions
from hostctl.channels.page.server import PageServer
from hostctl.config.find import SHIPPED
from hostctl.config.host import Page
from hostctl.config.load import load_machine
from hostctl.link.link import Link
from hostctl.link.port import PortSettings
from hostctl.link.serial_port import open_serial
from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.run.station import Station
from hostctl.store.rows import NewReading, NewRun
from hostctl.store.store import Store, utc_now

GOAL = 2.0
PORT = 18479
REPORT = """
import sys
sys.path.insert(0, {root!r})
sys.path.insert(0, {root!r} + "/tests/benchmarks")
from bench_crossed import product, rows
table = rows(1_000_000)
while True:
    product(*table)
"""
POLL = """
import threading, time, urllib.request
def opened(path):
    asked = urllib.request.Request("http://127.0.0.1:{port}" + path)
    asked.add_header("Cookie", "{cookie}")
    return urllib.request.urlopen(asked)
def again_and_again(act):
    while True:
        try:
            act()
        except OSError:  # between two rounds nothing is served
            time.sleep(0.1)
def look():
    with opened("/") as page:
        assert page.url.endswith("/") and b"STOP" in page.read(), "not the page: " + page.url
    time.sleep(0.1)
def follow():
    with opened("/live") as stream:
        for line in stream:
            pass
threading.Thread(target=again_and_again, args=(follow,), daemon=True).start()
again_and_again(look)
"""


@contextmanager
def neighbours(cookie: str) -> Iterator[None]:
    """The report, and a paired phone that follows and polls the page, each a process of its own."""
    root = str(Path(__file__).parents[2])
    programs = [REPORT.format(root=root), POLL.format(port=PORT, cookie=cookie)]
    running = [subprocess.Popen([sys.executable, "-c", program]) for program in programs]
    try:
        yield
    finally:
        assert all(one.poll() is None for one in running), "a neighbour gave up"
        for one in running:
            one.kill()
            one.wait()


async def _commit(store: Store, run: int) -> None:
    trial = 0
    while True:
        trial += 1
        place = Place(
            run=run,
            block=1,
            round=1,
            trial=trial,
            attempt=1,
            method="",
            operator="",
            point="front-left",
            trials_done=trial,
            trials_total=10_000,
        )
        reading = Reading(
            value_mm=0.02,
            resolution_mm=0.01,
            taken_at=utc_now(),
            source="probe",
            at=Position(x_mm=30, y_mm=30, z_mm=5),
            temperatures=Temperatures(nozzle_c=21.0, bed_c=21.0),
        )
        await store.add_reading(
            NewReading(
                place=place,
                is_zero=False,
                reading=reading,
                prompted_at=None,
                answered_at=None,
                channel="nobody",
            )
        )
        await asyncio.sleep(0.05)


async def _through_daemon(path: str, folder: Path, phones: Path, busy: bool) -> None:
    station = Station("sim-220", now=utc_now, studies=list)
    machines = {"sim-220": load_machine(SHIPPED / "machines" / "sim-220.yaml")}
    page = PageServer(
        {"sim-220": station},
        Page(listen="0.0.0.0", port=PORT),  # as where phones have to be paired
        now=utc_now,
        machines=machines,
        sessions_file=phones,
    )
    async with Store.opened(folder / "kept.sqlite") as store, asyncio.TaskGroup() as tasks:
        run = await store.add_run(
            NewRun(
                study="s",
                title="t",
                kind="probe-loop",
                machine="sim-220",
                reference="datum",
                study_text="",
                machine_text="",
                seed=1,
                started_at=utc_now(),
                program="bench",
            )
        )
        beside = [tasks.create_task(page.serve())]
        if busy:
            beside.append(tasks.create_task(_commit(store, run)))
        settings = PortSettings(baud=250_000)
        async with Link(path, settings, open_port=open_serial).running() as link:
            await link.connect()
            for command in islice(cycle(COMMANDS), LINES):
                await link.do(command, deadline_s=5)
        for task in beside:
            task.cancel()


def through_daemon(phones: Path, path: str, busy: bool) -> None:
    with tempfile.TemporaryDirectory() as folder:
        asyncio.run(_through_daemon(path, Path(folder), phones, busy))


def through_raw_loop(path: str, busy: bool) -> None:
    descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY)
    for line, command in enumerate(islice(cycle(COMMANDS), LINES)):
        os.write(descriptor, numbered(line, command))
        if not os.read(descriptor, 4096).startswith(b"ok"):
            raise RuntimeError("not acknowledged")
    os.close(descriptor)


def turnaround(run: Callable[[str, bool], None], busy: bool) -> tuple[float, float]:
    """Median and 99th percentile, microseconds."""
    master, slave = os.openpty()
    tty.setraw(slave)
    here, there = multiprocessing.Pipe()
    process = multiprocessing.Process(target=peer, args=(master, there), daemon=True)
    process.start()
    run(os.ttyname(slave), busy)
    descriptor = os.open(os.ttyname(slave), os.O_RDWR | os.O_NOCTTY)
    os.write(descriptor, b"END\n")
    os.close(descriptor)
    taken = sorted(here.recv())
    process.kill()
    process.join()
    os.close(master)
    os.close(slave)
    return taken[len(taken) // 2], taken[len(taken) * 99 // 100]


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    with tempfile.TemporaryDirectory() as folder:
        measure(rounds, Path(folder) / "phones.json")


def measure(rounds: int, phones: Path) -> None:
    cookie = f"{COOKIE}={Sessions(utc_now, phones).begin()}"
    runs = {"raw loop": through_raw_loop, "daemon": partial(through_daemon, phones)}
    quiet: dict[str, list[tuple[float, float]]] = {name: [] for name in runs}
    busy: dict[str, list[tuple[float, float]]] = {name: [] for name in runs}
    for _ in range(rounds):
        for name, run in runs.items():
            quiet[name].append(turnaround(run, False))
        with neighbours(cookie):
            for name, run in runs.items():
                busy[name].append(turnaround(run, True))
    print(f"{rounds} rounds of {LINES} lines, microseconds, medians over the rounds")
    print(f"{'':10} quiet: median    p99   busy: median    p99   p99 busy / quiet")
    for name in runs:
        columns = [*zip(*quiet[name], strict=True), *zip(*busy[name], strict=True)]
        row = [statistics.median(column) for column in columns]
        pairs = zip(quiet[name], busy[name], strict=True)
        ratio = statistics.median(loaded[1] / calm[1] for calm, loaded in pairs)
        print(f"{name:10} {row[0]:13.1f} {row[1]:6.1f} {row[2]:14.1f} {row[3]:6.1f} {ratio:10.2f}")
    print(f"goal for the daemon: at most {GOAL}")


if __name__ == "__main__":
    main()
