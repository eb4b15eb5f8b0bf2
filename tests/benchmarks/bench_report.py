"""The whole command `hostctl report` beside `hostctl analyse` of the same run.

    python tests/benchmarks/bench_report.py [READINGS …]

Floor: the analysis alone, in the same interleaved run of medians. Goals: 10,000 readings at most
1.5 x and under 1 MB; 1,000,000 at most 1.2 x, and the page opens within 3 s (Chromium, from the
start of loading to its `load` event). Where the data lie in a file beside the page, writing that is
part of the time.
"""

import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "store"))

from stored_rows import A_READING, A_RUN

from hostctl.store.file.connection import connect_to_write
from hostctl.store.mapping import READING_COLUMNS, RUN_COLUMNS, insert_into, reading_row, run_row

SEED = 20260511
SPREADS = {"paper-slip": 0.020, "feeler-gauge": 0.012, "contact-light": 0.008}
TRIALS_A_BLOCK = 100
STUDY = "tolerance:\n  within_mm: 0.05\n"
END = "INSERT INTO events (run, at, kind, text, data) VALUES (?, ?, 'ended', 'all done', ?)"


def database(folder: Path, readings: int) -> Path:
    """Run 1, a comparison of three methods in two pairs of hands, blocks of a hundred trials."""
    path = folder / f"{readings}.sqlite"
    connection = connect_to_write(path, busy_s=5.0)
    run = replace(A_RUN, reference="first", kind="comparison", study_text=STUDY)
    connection.execute(insert_into("runs", RUN_COLUMNS), run_row(run))
    connection.execute("BEGIN")
    connection.executemany(insert_into("readings", READING_COLUMNS), rows(readings))
    connection.execute(END, (1, "2031-05-06T07:08:09.012Z", '{"complete": true}'))
    connection.execute("COMMIT")
    connection.close()
    return path


def rows(readings: int) -> Iterator[tuple[object, ...]]:
    chance, start = random.Random(SEED), datetime(2031, 5, 6, tzinfo=UTC)
    for number in range(readings):
        block, trial = divmod(number, TRIALS_A_BLOCK)
        method = list(SPREADS)[block % 3]
        at = start + timedelta(seconds=23 * number)
        value = 0.0 if trial == 0 else round(chance.gauss(0.0, SPREADS[method]), 2)
        place = replace(
            A_READING.place,
            run=1,
            block=block + 1,
            round=1,
            trial=trial,
            method=method,
            operator=f"volunteer-{'ab'[block % 2]}",
            point="front-left",
        )
        reading = replace(A_READING.reading, value_mm=value, taken_at=at)
        new = replace(A_READING, place=place, is_zero=trial == 0, reading=reading)
        yield reading_row(new, at)


def seconds(words: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def measured(folder: Path, readings: int, rounds: int) -> None:
    path = database(folder, readings)
    page = folder / f"{readings}.html"
    own = ["-m", "hostctl"]
    at = ["--database", str(path)]
    analysing, reporting = [], []
    for _ in range(rounds):
        for old in folder.glob(f"{readings}.*html"), folder.glob(f"{readings}.data.json"):
            for file in old:
                file.unlink()
        analysing.append(seconds([*own, "analyse", "1", *at]))
        reporting.append(seconds([*own, "report", "1", "-o", str(page), *at]))
    floor, median = statistics.median(analysing), statistics.median(reporting)
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(
        f"  {readings:9,} {floor:10.2f} {median:10.2f} {median / floor:7.2f} "
        f"{page.stat().st_size / 1e6:8.2f} {peak:6.0f}"
    )


def main() -> None:
    wanted = [int(word) for word in sys.argv[1:]] or [60, 10_000, 100_000, 1_000_000]
    print("   readings  analyse s   report s   ratio  page MB  peak MiB so far")
    with tempfile.TemporaryDirectory() as folder:
        for readings in wanted:
            measured(Path(folder), readings, 7 if readings <= 100_000 else 3)


if __name__ == "__main__":
    main()
