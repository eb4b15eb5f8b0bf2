"""The whole command `hostctl report` beside `hostctl analyse` of the same run.

    python tests/benchmarks/bench_report.py [READINGS …]

Floor: the analysis alone, in the same interleaved run of medians. Goals: 10,000 readings at most
1.5 x and under 1 MB; 1,000,000 at most 1.2 x, and the page opens within 3 s (Chromium, from the
start of loading to its `load` event). Where the data lie in a file beside the page, writing that is
part of the time. Processor time, of user and system, is told beside the time that passes, since it
hangs less on what else the computer does. The children may keep their compiled modules, whatever
PYTHONDONTWRITEBYTECODE says here, so that none compiles them anew.
"""

import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "store"))

from stored_rows import A_READING, A_RUN

from hostctl.store.file.connection import connect_to_write
from hostctl.store.mapping import READING_COLUMNS, RUN_COLUMNS, insert_into, reading_row, run_row

NO_BYTECODE = "PYTHONDONTWRITEBYTECODE"
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


@dataclass(frozen=True, slots=True)
class Took:
    """One command: what passed, what the processor worked, and the most memory it held."""

    passed_s: float
    worked_s: float
    peak_mib: float


def took(words: list[str]) -> Took:
    """Raises CalledProcessError where it fails."""
    keeping = {name: text for name, text in os.environ.items() if name != NO_BYTECODE}
    start = time.perf_counter()
    child = subprocess.Popen(
        [sys.executable, "-m", "hostctl", *words], stdout=subprocess.DEVNULL, env=keeping
    )
    _, status, used = os.wait4(child.pid, 0)
    passed_s = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise subprocess.CalledProcessError(child.returncode, words)
    return Took(passed_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def measured(folder: Path, readings: int, rounds: int) -> None:
    path = database(folder, readings)
    page, data = folder / f"{readings}.html", folder / f"{readings}.data.json"
    at = ["--database", str(path)]
    took(["--version"])
    floors, reports = [], []
    for _ in range(rounds):
        page.unlink(missing_ok=True)
        data.unlink(missing_ok=True)
        floors.append(took(["analyse", "1", *at]))
        reports.append(took(["report", "1", "-o", str(page), *at]))
    size = "".join(f"{f.stat().st_size / 1e6:9.2f}" if f.exists() else "" for f in (page, data))
    figures = (
        f"{figure:9.2f}"
        for name in ("passed_s", "worked_s")
        for figure in _pair(floors, reports, name)
    )
    floor_mib, report_mib = (max(one.peak_mib for one in found) for found in (floors, reports))
    print(f"{readings:9,} {''.join(figures)} {floor_mib:8.0f} {report_mib:8.0f} {size}", flush=True)


def _pair(floors: list[Took], reports: list[Took], name: str) -> tuple[float, float, float]:
    """Medians of both, and how many times the floor."""
    floor, report = (median(getattr(one, name) for one in found) for found in (floors, reports))
    return floor, report, report / floor


def main() -> None:
    wanted = [int(word) for word in sys.argv[1:]] or [60, 10_000, 100_000, 1_000_000]
    print(f"{'':10}{'passed, s':>27}{'processor, s':>27}{'most MiB':>18}      MB")
    heads = ("analyse", "report", "ratio") * 2
    print(
        " readings "
        + "".join(f"{head:>9}" for head in heads)
        + "  analyse   report   page and data"
    )
    with tempfile.TemporaryDirectory() as folder:
        for readings in wanted:
            measured(Path(folder), readings, 7 if readings <= 100_000 else 3)


if __name__ == "__main__":
    main()
