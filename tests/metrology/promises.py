"""Writes tests/data/promises.md: python tests/metrology/promises.py"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # two processes share the work

import argparse
import sys
import time
from multiprocessing import Pool

from promised.cells import STUDIES, Row, judged
from promised.page import PAGE, PARTS, page


def main() -> int:
    """The command. Exit code 1: a cell fails."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--studies", type=int, default=STUDIES, help="in each cell")
    asked.add_argument("--parts", nargs="+", choices=[part.name for part in PARTS])
    asked.add_argument("--processes", type=int, default=2)
    given = asked.parse_args()
    parts = [part for part in PARTS if not given.parts or part.name in given.parts]
    jobs = [(part.name, cell, given.studies) for part in parts for cell in part.cells]
    began = time.monotonic()
    with Pool(given.processes) as pool:
        rows = pool.starmap(judged, jobs, chunksize=1)
    by_part: dict[str, list[Row]] = {part.name: [] for part in parts}
    for (name, _, _), row in zip(jobs, rows, strict=True):
        by_part[name].append(row)
    minutes = (time.monotonic() - began) / 60.0
    text = page(by_part)
    if given.parts or given.studies != STUDIES:
        sys.stdout.write(text)
    else:
        PAGE.write_text(text, encoding="utf-8")
    print(f"{len(rows)} rows in {minutes:.1f} minutes", file=sys.stderr)
    return int(any(rate.fails for row in rows for rate in row.rates))


if __name__ == "__main__":
    sys.exit(main())
