"""Writes tests/data/promises.md: python tests/metrology/promises.py

With --trueness it writes trueness.md beside it instead."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # two processes share the work

import argparse
import sys
import time
from multiprocessing import Pool

from promised.cells import STUDIES, Row, judged
from promised.laws import law_rows
from promised.page import PAGE, PARTS, Told, page
from promised.ties_page import TIES_PAGE, tie_rows, ties_page
from promised.widths import widths, write_before


def main() -> int:
    """The command. Exit code 1: a cell fails."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--only", choices=[part.name for part in PARTS], help="print one part")
    asked.add_argument("--studies", type=int, default=STUDIES, help="of a cell, with --only")
    asked.add_argument("--before", metavar="CHECKOUT", help="only write what widths were there")
    asked.add_argument("--trueness", action="store_true", help="only the true gap by a tie")
    given = asked.parse_args()
    began = time.monotonic()
    if given.before:
        write_before(given.before)
    elif given.trueness:
        rows = tie_rows()
        TIES_PAGE.write_text(ties_page(rows), encoding="utf-8")
        return int(any(row.fails for row in rows))
    elif given.only:
        print(page(Told(rows_of([given.only], given.studies))))
    else:
        told = Told(rows_of([part.name for part in PARTS], STUDIES), law_rows(), widths())
        PAGE.write_text(page(told), encoding="utf-8")
        print(f"{(time.monotonic() - began) / 60:.0f} minutes; fails: {told.fails}")
        return int(told.fails)
    return 0


def rows_of(names: list[str], studies: int) -> dict[str, list[Row]]:
    """Every cell of these parts, judged, two at a time."""
    parts = [part for part in PARTS if part.name in names]
    jobs = [(part.name, cell, studies) for part in parts for cell in part.cells]
    with Pool(2) as pool:
        rows = iter(pool.starmap(judged, jobs, chunksize=1))
    return {part.name: [next(rows) for _ in part.cells] for part in parts}


if __name__ == "__main__":
    sys.exit(main())
