"""The store beside the barest way to do the same: recording, rows to arrays, CSV.

Run by name: python tests/benchmarks/bench_store.py [record|arrays|csv ...] [--folder FOLDER]
Product and floors take turns, round by round, in one folder (a new one, unless given; it must be
on a real disk). Figures are medians; CPU time is told too, since others may use the machine.

recording  floor: one INSERT after the other, write-ahead log, full synchronisation, of the same
           row with the same uniqueness; and of a row of three columns, for comparison.
           Goal: at least 0.9 times its rate one at a time, at least 5 times with ten in flight.
arrays     floor: numpy.fromiter of value, block and trial, a million rows, the least anybody would
           want; and of all five stored columns from which the product makes value, relative value,
           group, trial, zero and void.  Goal: at most 1.2 times, and 48 MiB.
csv        floor: csv.writer on the cursor of the stored columns; the product adds what is worked
           out.  Goal: at most 1 time, and 16 MiB.
"""

import argparse
import asyncio
import random
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.store.file.connection import connect_to_write
from hostctl.store.mapping import READING_COLUMNS, RUN_COLUMNS, insert_into, reading_row, run_row
from hostctl.store.rows import NewReading, NewRun
from hostctl.store.store import Store

SEED, ROUNDS, RECORDED, ROWS, BLOCKS = 20261125, 9, 400, 1_000_000, 24
START = datetime(2031, 5, 6, 7, 8, 9, tzinfo=UTC)
KEY = "run, block, round, trial, attempt, is_zero"
ADD_READING = insert_into("readings", READING_COLUMNS)
RUN = NewRun(
    study="three-methods",
    title="A million readings",
    kind="comparison",
    machine="sim-220",
    reference="first",
    study_text="study: three-methods",
    machine_text="machine: sim-220",
    seed=SEED,
    started_at=START,
    program="hostctl",
)
Seconds = dict[str, list[float]]


def reading(number: int, block: int, trial: int, value_mm: float) -> NewReading:
    at = START + timedelta(seconds=number)
    return NewReading(
        place=Place(
            run=1,
            block=block,
            round=1,
            trial=trial,
            attempt=1,
            method=("paper-slip", "feeler-gauge", "contact-light")[block % 3],
            operator=("volunteer-a", "volunteer-b")[block % 2],
            point=("front-left", "front-right", "back-left", "back-right")[block % 4],
            trials_done=number,
            trials_total=ROWS,
        ),
        is_zero=trial == 0,
        reading=Reading(
            value_mm=value_mm,
            resolution_mm=0.01,
            taken_at=at,
            source="typed",
            at=Position(x_mm=30.0, y_mm=190.0, z_mm=0.2),
            temperatures=Temperatures(bed_c=21.5),
        ),
        prompted_at=at,
        answered_at=at,
        channel="terminal",
    )


# ---------------------------------------------------------------- recording


def bare(path: Path, table: str, insert: str, rows: list[tuple[object, ...]]) -> float:
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute(table)
    begun = time.perf_counter()
    for row in rows:
        connection.execute(insert, row)
    took = time.perf_counter() - begun
    connection.close()
    return took / len(rows)


def bare_same_row(path: Path) -> float:
    rows = [reading_row(reading(n, 1, n, 0.02), START) for n in range(RECORDED)]
    table = f"CREATE TABLE readings ({READING_COLUMNS}, UNIQUE ({KEY}))"
    return bare(path, table, ADD_READING, rows)


def bare_small_row(path: Path) -> float:
    rows: list[tuple[object, ...]] = [
        (n, 0.02, "2031-05-06T07:08:09.012Z") for n in range(RECORDED)
    ]
    table = "CREATE TABLE readings (trial INTEGER, value_mm REAL, at TEXT)"
    return bare(path, table, "INSERT INTO readings VALUES (?, ?, ?)", rows)


async def recorded(path: Path, in_flight: int) -> float:
    async with Store.opened(path) as store:
        await store.add_run(RUN)
        await store.add_reading(reading(0, 1, 0, 0.0))
        waiting = iter([reading(n, 1, n, 0.02) for n in range(1, RECORDED + 1)])

        async def caller() -> None:
            for new in waiting:
                await store.add_reading(new)

        begun = time.perf_counter()
        async with asyncio.TaskGroup() as group:
            for _ in range(in_flight):
                group.create_task(caller())
        return (time.perf_counter() - begun) / RECORDED


def bench_record(folder: Path) -> None:
    contenders: dict[str, Callable[[Path], float]] = {
        "bare, same row": bare_same_row,
        "bare, three columns": bare_small_row,
        "store, one at a time": lambda path: asyncio.run(recorded(path, 1)),
        "store, ten in flight": lambda path: asyncio.run(recorded(path, 10)),
    }
    seconds: Seconds = {name: [] for name in contenders}
    for turn in range(ROUNDS):
        for number, (name, work) in enumerate(contenders.items()):
            seconds[name].append(work(folder / f"record-{turn}-{number}.sqlite"))
    for name, each in seconds.items():
        print(f"  {name:22} {statistics.median(each) * 1e6:8.1f} us a reading")
    for name, goal in (("store, one at a time", 0.9), ("store, ten in flight", 5.0)):
        same, small = (rate(seconds, floor, name) for floor in list(contenders)[:2])
        print(
            f"  {name}: {same:.2f} times the rate of the same row ({small:.2f} of the small one);"
        )
        print(f"      goal: at least {goal}")


def rate(seconds: Seconds, floor: str, product: str) -> float:
    """How many times faster: the median of the rounds' own ratios."""
    pairs = zip(seconds[floor], seconds[product], strict=True)
    return statistics.median(slow / fast for slow, fast in pairs)


# ---------------------------------------------------------------- a million rows


def million(folder: Path) -> Path:
    path = folder / "million.sqlite"
    if path.exists():
        return path
    connection = connect_to_write(path, busy_s=5.0)
    connection.execute(insert_into("runs", RUN_COLUMNS), run_row(RUN))
    connection.execute("BEGIN")
    connection.executemany(ADD_READING, million_rows())
    mark = "INSERT INTO marks (run, block, round, trial, mark, reason, at) VALUES"
    connection.execute(
        f"{mark} (1, 3, 1, 50, 'void', 'the paper moved', '2031-05-06T07:08:09.012Z')"
    )
    connection.execute("COMMIT")
    connection.close()
    return path


def million_rows() -> Iterator[tuple[object, ...]]:
    chance = random.Random(SEED)
    for number in range(ROWS):
        block, trial = divmod(number, ROWS // BLOCKS + 1)
        value_mm = round(chance.gauss(0.0, 0.03), 2)
        new = reading(number, block + 1, trial, value_mm)
        yield reading_row(new, new.reading.taken_at)


FROMITER = """
import sqlite3, numpy
rows = sqlite3.connect(path).execute("SELECT value_mm, block, trial FROM readings WHERE run = 1")
numpy.fromiter(rows, dtype=[("value_mm", "f8"), ("block", "i4"), ("trial", "i4")])
"""
FROMITER_OF_FIVE = """
import sqlite3, numpy
query = "SELECT value_mm, block, round, trial, is_zero FROM readings WHERE run = 1"
names = ("value_mm", "f8"), ("block", "i4"), ("round", "i4"), ("trial", "i4"), ("is_zero", "i1")
numpy.fromiter(sqlite3.connect(path).execute(query), dtype=list(names))
"""
COLUMNS = """
import numpy
from hostctl.store.columns import read_columns
columns = read_columns(Path(path), 1)
numpy.asarray(columns.relative_mm)
"""
CSV_WRITER = f"""
import csv, sqlite3
query = "SELECT reading_id, {READING_COLUMNS} FROM readings WHERE run = 1"
rows = sqlite3.connect(path).execute(query)
with open(path + ".floor.csv", "w", newline="") as out:
    csv.writer(out).writerows(rows)
"""
EXPORT = """
from hostctl.store.export import export_csv
with open(path + ".csv", "w", newline="") as out:
    export_csv(Path(path), 1, out)
"""
IN_A_PROCESS = """
import re, resource, sys, time
from pathlib import Path
sys.path.insert(0, {root!r})
path = {path!r}
{imports}
peak = lambda: int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) / 1024
before, begun, cpu = peak(), time.perf_counter(), time.process_time()
{work}
print(time.perf_counter() - begun, time.process_time() - cpu, peak() - before)
"""


def measured(path: Path, work: str) -> tuple[float, ...]:
    """Seconds, CPU seconds and growth in MiB, each in a fresh process, imports not counted."""
    imports = "\n".join(line for line in work.splitlines() if "import" in line)
    root = str(Path(__file__).parents[2])
    program = IN_A_PROCESS.format(root=root, path=str(path), imports=imports, work=work)
    found = subprocess.run([sys.executable, "-c", program], check=True, stdout=subprocess.PIPE)
    return tuple(map(float, found.stdout.split()))


def bench_bulk(
    folder: Path, floors: dict[str, str], product: str, goal: float, goal_mib: int
) -> None:
    path = million(folder)
    works = floors | {"store": product}
    rounds = [{name: measured(path, work) for name, work in works.items()} for _ in range(ROUNDS)]
    for name in works:
        columns = zip(*[each[name] for each in rounds], strict=True)
        s, cpu_s, mib = (statistics.median(column) for column in columns)
        print(f"  {name:26} {s:6.2f} s, CPU {cpu_s:6.2f} s, {mib:6.1f} MiB")
    for name in floors:
        wall, cpu = (
            statistics.median(each["store"][i] / each[name][i] for each in rounds) for i in (0, 1)
        )
        print(f"  store / {name}: {wall:.2f} (CPU {cpu:.2f})")
    print(f"      goal: at most {goal}, and {goal_mib} MiB")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("what", nargs="*", default=["record", "arrays", "csv"])
    parser.add_argument("--folder", type=Path)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=chosen.folder) as folder:
        for what in chosen.what:
            print(f"{what}, {ROUNDS} rounds, seed {SEED}")
            match what:
                case "record":
                    bench_record(Path(folder))
                case "arrays":
                    floors = {"fromiter": FROMITER, "fromiter of five columns": FROMITER_OF_FIVE}
                    bench_bulk(Path(folder), floors, COLUMNS, 1.2, 48)
                case "csv":
                    bench_bulk(Path(folder), {"csv.writer": CSV_WRITER}, EXPORT, 1.0, 16)
                case _:
                    parser.error(f"no benchmark is called {what}")


if __name__ == "__main__":
    main()
