"""A crossed study of a million rows against numpy's own sums over cells.

Run by name: python tests/benchmarks/bench_crossed.py
Floor, in the same interleaved run: numpy.bincount for count, sum and sum of squares on cell numbers
made beforehand (the product makes them itself, and the whole table and its intervals besides).
Goal: at most 1.5 times the floor and 32 MiB; time and memory close to linear from 1e3 to 1e6 rows.
"""

import statistics
import time
import tracemalloc
from collections.abc import Callable

import numpy as np

from hostctl.metrology.components.crossed import crossed_anova, crossed_components
from hostctl.metrology.components.crossed_cells import crossed_cells

SEED, ROUNDS, PARTS, OPERATORS = 20261125, 11, 10, 10
GOAL_RATIO, GOAL_MIB = 1.5, 32.0


def rows(n: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A full table: every part and operator the same number of times, in random order."""
    rng = np.random.default_rng(SEED)
    cell = rng.permutation(np.arange(n) % (PARTS * OPERATORS))
    part, operator = cell // OPERATORS, cell % OPERATORS
    readings = 0.02 * rng.normal(size=PARTS)[part] + 0.01 * rng.normal(size=n)
    return part, operator, np.round(readings, 2)


def product(part: np.ndarray, operator: np.ndarray, y: np.ndarray) -> object:
    return crossed_components(crossed_anova(crossed_cells(part, operator, y)))


def floor(cell: np.ndarray, y: np.ndarray) -> object:
    return np.bincount(cell), np.bincount(cell, weights=y), np.bincount(cell, weights=y * y)


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def peak_mib(work: Callable[[], object]) -> float:
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 2**20


def main() -> None:
    print(f"seed {SEED}, {ROUNDS} interleaved rounds, medians")
    print(f"{'rows':>9} {'floor ms':>9} {'product ms':>11} {'ratio':>6} {'extra MiB':>10}")
    for n in (1_000, 10_000, 100_000, 1_000_000):
        part, operator, y = rows(n)
        cell = part * OPERATORS + operator
        pairs = [
            (
                seconds(lambda cell=cell, y=y: floor(cell, y)),
                seconds(lambda part=part, operator=operator, y=y: product(part, operator, y)),
            )
            for _ in range(ROUNDS)
        ]
        low, ours = (statistics.median(column) for column in zip(*pairs, strict=True))
        extra = peak_mib(lambda part=part, operator=operator, y=y: product(part, operator, y))
        print(f"{n:>9} {1e3 * low:9.3f} {1e3 * ours:11.3f} {ours / low:6.2f} {extra:10.2f}")
    print(f"goal at 1,000,000 rows: ratio at most {GOAL_RATIO}, at most {GOAL_MIB:.0f} MiB extra")


if __name__ == "__main__":
    main()
