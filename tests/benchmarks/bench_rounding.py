"""Rounding-aware fit and bootstrap beside their floors, in one interleaved run of medians.

    python tests/benchmarks/bench_rounding.py

Floors, both on a million readings of 0.01 mm: counting the graduations and Fisher scoring of mean
and sigma on the counts, with a plain Wald interval (goal: at most 2 x); and 10,000 bare multinomial
draws with their standard deviations (goal: at most 1.5 x). Cut-offs are forgotten between rounds.
"""

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.special import ndtr

from hostctl.metrology.rounded import risks
from hostctl.metrology.rounded.bootstrap import bootstrap_spread
from hostctl.metrology.rounded.law import moments, score, tails
from hostctl.metrology.rounded.law.bin_counts import count_bins
from hostctl.metrology.rounded.rounding import rounded_spread

ROUNDS = 11
RESAMPLES = 10_000


def counted(readings: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    graduations = np.rint(readings * 100.0).astype(np.int64)
    lowest = graduations.min()
    counts = np.bincount(graduations - lowest)
    return np.arange(len(counts)) + lowest, counts


def scoring(readings: np.ndarray) -> tuple[float, float, float]:
    """Sigma and its Wald limits, by Fisher scoring on the counts."""
    places, counts = counted(readings)
    n = counts.sum()
    mean = counts @ places / n
    sigma = np.sqrt(counts @ (places - mean) ** 2 / n - 1.0 / 12.0)
    edges = np.append(places - 0.5, places[-1] + 0.5)
    for _ in range(20):
        z = (edges - mean) / sigma
        chance = np.diff(ndtr(z))
        density = np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi)
        by_both = -np.column_stack((np.diff(density), np.diff(density * z))) / sigma
        score = by_both.T @ (counts / chance)
        information = n * (by_both.T / chance) @ by_both
        step = np.linalg.solve(information, score)
        mean, sigma = mean + step[0], sigma + step[1]
        if np.abs(step).max() < 1e-10 * sigma:
            break
    reach = 1.96 * np.sqrt(np.linalg.inv(information)[1, 1])
    return 0.01 * sigma, 0.01 * (sigma - reach), 0.01 * (sigma + reach)


def bare_bootstrap(counts: np.ndarray, places: np.ndarray) -> np.ndarray:
    n = counts.sum()
    drawn = np.random.default_rng(1).multinomial(n, counts / n, size=RESAMPLES)
    first, second = drawn @ places, drawn @ (places * places)
    spreads: np.ndarray = np.sqrt((second - first * first / n) / (n - 1))
    return spreads


def forget() -> None:
    risks.shared_risks.cache_clear()
    moments.block_moments.cache_clear()
    score.averaged.cache_clear()
    tails._log_orders.cache_clear()


def medians(*calls: Callable[[], object]) -> list[float]:
    times: list[list[float]] = [[] for _ in calls]
    for _ in range(ROUNDS):
        for kept, call in zip(times, calls, strict=True):
            forget()
            start = time.perf_counter()
            call()
            kept.append(time.perf_counter() - start)
    return [statistics.median(kept) * 1e3 for kept in times]


def main() -> None:
    rng = np.random.default_rng(2)
    print("fit with interval (ms)      floor    ours   ratio   goal 2.0")
    for sigma in (0.5, 1.0, 3.0, 10.0):
        readings = 0.01 * np.rint(rng.normal(0.3, sigma, 1_000_000))
        floor, ours = medians(
            lambda readings=readings: scoring(readings),
            lambda readings=readings: rounded_spread([readings], resolution=0.01),
        )
        print(f"  sigma {sigma:4} graduations  {floor:8.2f}{ours:8.2f}{ours / floor:8.2f}")

    print("growth at sigma 1 (ms)")
    for n in (1_000, 10_000, 100_000, 1_000_000):
        readings = 0.01 * np.rint(rng.normal(0.3, 1.0, n))
        (ours,) = medians(lambda readings=readings: rounded_spread([readings], resolution=0.01))
        print(f"  n = {n:9,}  {ours:8.2f}")

    readings = 0.01 * np.rint(rng.normal(0.3, 1.0, 1_000_000))
    bins = count_bins(readings, resolution=0.01)
    counts = np.asarray(bins.counts)
    places = np.asarray(bins.graduations, dtype=float)
    floor, ours = medians(
        lambda: bare_bootstrap(counts, places),
        lambda: bootstrap_spread(bins, resamples=RESAMPLES, rng=np.random.default_rng(1)),
    )
    print(f"bootstrap (ms)          {floor:8.2f}{ours:8.2f}{ours / floor:8.2f}   goal 1.5")


if __name__ == "__main__":
    main()
