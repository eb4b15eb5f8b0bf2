"""How often the interval for a spread holds the truth, by seeded simulation.

Run by name, `python tests/metrology/test_coverage_rounding.py`, it writes the committed table
tests/data/coverage_table.md (some minutes); as tests it checks single cells of it.
"""

import math
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from hostctl.metrology.basis.estimate import Interval
from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.rounded.rounding import rounded_spread

SEED = 20240611
TABLE = Path(__file__).parents[1] / "data" / "coverage_table.md"
REFERENCES = ("datum", "first", "previous")
SIZES = (3, 5, 10, 30, 100)
SIGMAS = (0.2, 0.3, 0.4, 0.5, 0.7, 1.0, 1.5, 2.0, 5.0)
# Blocks, readings in each, and the samples simulated for a row of the table.
LAYOUTS = ((2, 5, 3000), (3, 5, 2000), (6, 4, 1500), (4, 11, 1000), (20, 5, 500), (200, 5, 100))
BLOCK_SIGMAS = (0.2, 0.3, 0.5, 0.7, 1.0, 2.0, 5.0)

HEAD = f"""# Coverage of the 95 % interval for sigma, by simulation

Written by `tests/metrology/test_coverage_rounding.py` (seed {SEED}); normal settings, readings
rounded to one resolution. "Anywhere": the true mean uniform within a graduation; "worst": the
lowest of fixed places (amid a graduation, a quarter off, at its edge). Percent; widths are medians
in resolutions. At 95 % the simulation itself is uncertain by 0.2 (n = 3) to 0.5 (n = 100) percent.
"Ordinary" is the chi-square interval that takes readings for points.

| n | sigma / resolution | anywhere | worst | ordinary | width | ordinary width |
| --- | --- | --- | --- | --- | --- | --- |"""
BETWEEN_HEAD = """
Between those spreads, the one at which the most samples change sides at once: just above the bound
for readings that are evenly on two graduations.

| n | sigma / resolution | anywhere | worst | ordinary | width | ordinary width |
| --- | --- | --- | --- | --- | --- | --- |"""
RELATIVE_HEAD = """
The same with readings relative to the block's zero (`first`) or to the setting before (`previous`);
n readings.

| reference | n | sigma / resolution | fitted | ordinary |
| --- | --- | --- | --- | --- |"""
BLOCKS_HEAD = """
Several blocks of readings with a mean each. "Below" and "above": how often the whole interval lay
below or above the truth, by which the ends may be compared; of 5 % to miss, chi-square limits of
equal deviance leave 3.4 and 1.6 at 8 degrees of freedom and come near 2.5 and 2.5 at many. "One
place": the means of all blocks amid a graduation or all at an edge, the lower of the two. Well
under a resolution the lower limit allows for that, which makes it cautious elsewhere. The
simulation is uncertain by 0.4 (2 x 5) to 2.2 (200 x 5) percent.

| reference | blocks x n | sigma / resolution | fitted | below | above | one place | chi-square |
| --- | --- | --- | --- | --- | --- | --- | --- |"""


def sigma_above_narrow(n: int) -> float:
    """The sigma just above which no sample on two graduations is held for possible any more."""
    even = rounded_spread([[0.0] * (n // 2) + [1.0] * (n - n // 2)], resolution=1.0)
    return round(1.01 * even.interval.high, 3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """Coverage and median width in resolutions, fitted and by ordinary chi-square."""

    fitted: float
    ordinary: float
    fitted_width: float
    ordinary_width: float


def readings_of(
    reference: Reference, n: int, sigma: float, mean: float | None, samples: int
) -> NDArray[np.float64]:
    """Readings in whole resolutions as each reference gives them; the indicator is zeroed exactly.

    mean: where in a graduation the truth lies, None for anywhere, drawn anew for each sample.
    """
    place = 999 if mean is None else round(100 * mean)
    rng = np.random.default_rng([SEED, REFERENCES.index(reference), n, round(100 * sigma), place])
    means = rng.uniform(-0.5, 0.5, (samples, 1)) if mean is None else mean
    true = means + sigma * rng.normal(size=(samples, n if reference == "datum" else n + 1))
    match reference:
        case "datum":
            return np.rint(true)
        case "first":
            return np.rint(true[:, 1:] - true[:, :1])
        case "previous":
            return np.rint(np.diff(true))


def simulate(
    n: int, sigma: float, mean: float | None, samples: int, reference: Reference = "datum"
) -> Cell:
    """One cell. Each distinct sample is fitted once, weighted by how often it came."""
    rows = readings_of(reference, n, sigma, mean, samples)
    if reference == "datum":
        rows -= rows.min(axis=1, keepdims=True)
    rows.sort(axis=1)
    kinds = Counter(map(tuple, rows.tolist()))
    spreads = [rounded_spread([row], resolution=1.0, reference=reference) for row in kinds]
    counts = list(kinds.values())
    return Cell(
        fitted=_covered([spread.interval for spread in spreads], counts, sigma),
        ordinary=_covered([spread.ordinary.interval for spread in spreads], counts, sigma),
        fitted_width=_median_width([spread.interval for spread in spreads], counts),
        ordinary_width=_median_width([spread.ordinary.interval for spread in spreads], counts),
    )


def _covered(intervals: list[Interval], counts: list[int], sigma: float) -> float:
    held = [sigma in interval for interval in intervals]
    return float(np.average(held, weights=counts))


def _median_width(intervals: list[Interval], counts: list[int]) -> float:
    widths = [interval.high - interval.low for interval in intervals]
    return float(np.median(np.repeat(widths, counts)))


@dataclass(frozen=True, slots=True, kw_only=True)
class BlocksCell:
    """Coverage over blocks, fitted and by ordinary chi-square, and the misses at either end."""

    fitted: float
    below: float
    above: float
    ordinary: float


def simulate_blocks(
    blocks: int,
    n: int,
    sigma: float,
    mean: float | None,
    samples: int,
    reference: Reference = "datum",
) -> BlocksCell:
    """One cell over several blocks, with means as in `readings_of`, by block."""
    rows = readings_of(reference, n, sigma, mean, samples * blocks)
    if reference == "datum":
        rows -= rows.min(axis=1, keepdims=True)
    rows.sort(axis=1)
    kinds = Counter(
        tuple(sorted(map(tuple, sample))) for sample in rows.reshape(samples, blocks, n).tolist()
    )
    spreads = [rounded_spread(sample, resolution=1.0, reference=reference) for sample in kinds]
    counts = list(kinds.values())
    intervals = [spread.interval for spread in spreads]
    return BlocksCell(
        fitted=_covered(intervals, counts, sigma),
        below=float(np.average([held.high < sigma for held in intervals], weights=counts)),
        above=float(np.average([held.low > sigma for held in intervals], weights=counts)),
        ordinary=_covered([spread.ordinary.interval for spread in spreads], counts, sigma),
    )


# Seeded, so these never change of themselves; the margin is two standard errors of a true 94 or 97.
@pytest.mark.slow
@pytest.mark.parametrize("sigma", [0.2, 0.3, 0.5, 0.7, 1.0, 2.0, 5.0])
@pytest.mark.parametrize(
    ("n", "samples"), [(3, 4000), (5, 4000), (10, 3000), (30, 1500), (100, 600)]
)
def test_the_interval_covers_with_the_mean_anywhere_in_a_graduation(n, samples, sigma):
    cell = simulate(n, sigma, None, samples)
    margin = 2.0 * math.sqrt(0.05 / samples)
    assert cell.fitted >= 0.94 - margin
    assert cell.fitted <= (0.97 + margin if sigma >= 1.0 else 1.0)


@pytest.mark.slow
@pytest.mark.parametrize("reference", ["first", "previous"])
@pytest.mark.parametrize("sigma", [0.3, 1.0, 3.0])
@pytest.mark.parametrize("n", [3, 10, 30])
def test_the_interval_covers_when_readings_are_relative_to_a_setting(n, sigma, reference):
    assert simulate(n, sigma, None, 800, reference).fitted >= 0.94 - 2.0 * math.sqrt(0.05 / 800)


@pytest.mark.slow
@pytest.mark.parametrize("reference", ["datum", "first"])
@pytest.mark.parametrize("sigma", [0.3, 0.5, 1.0, 3.0])
@pytest.mark.parametrize(
    ("blocks", "n", "samples"), [(2, 3, 240), (2, 5, 240), (6, 4, 120), (3, 11, 120), (20, 5, 40)]
)
def test_the_interval_covers_over_blocks_with_a_mean_each(blocks, n, samples, sigma, reference):
    cell = simulate_blocks(blocks, n, sigma, None, samples, reference)
    margin = 2.0 * math.sqrt(0.05 / samples)
    assert cell.fitted >= 0.94 - margin
    assert cell.fitted <= (0.97 + margin if sigma >= 1.0 else 1.0)


@pytest.mark.slow
def test_both_ends_of_the_interval_over_blocks_share_the_misses():
    # The unbiased chi-square interval on 18 degrees of freedom misses by 3.1 and 1.9 %.
    cell = simulate_blocks(6, 4, 2.0, None, 700)
    assert cell.below == pytest.approx(0.031, abs=2.0 * math.sqrt(0.031 / 700))
    assert cell.above == pytest.approx(0.019, abs=2.0 * math.sqrt(0.019 / 700))


@pytest.mark.slow
@pytest.mark.parametrize(("blocks", "n", "sigma"), [(50, 11, 0.3), (200, 5, 0.3), (200, 5, 0.35)])
def test_the_interval_covers_many_blocks_that_all_have_their_mean_at_an_edge(blocks, n, sigma):
    # Averaged over the mean alone, the likelihood would hold 0.35 in none of those 200 x 5.
    cell = simulate_blocks(blocks, n, sigma, 0.5, 20)
    assert cell.fitted >= 0.94 - 2.0 * math.sqrt(0.05 / 20)


@pytest.mark.slow
@pytest.mark.parametrize("n", [10, 16, 21, 30, 45])
def test_the_interval_covers_where_narrow_samples_are_ruled_out_together(n):
    cell = simulate(n, sigma_above_narrow(n), None, 6000)
    assert cell.fitted >= 0.94 - 2.0 * math.sqrt(0.05 / 6000)


def test_ignoring_the_rounding_covers_nothing_at_a_fifth_of_a_graduation():
    # Stated in the issue this answers: 0 % at n = 3 to 10 and 0.2 graduations, from simulation.
    assert simulate(3, 0.2, None, 500).ordinary == 0.0
    assert simulate(3, 0.2, None, 500).fitted > 0.94


def _table_row(n: int, sigma: float) -> str:
    samples = 10_000 if n <= 5 else 6_000 if n <= 10 else 3_000 if n <= 30 else 2_000
    anywhere = simulate(n, sigma, None, samples)
    places = (0.0, 0.25, 0.5) if sigma < 1.0 else (0.0, 0.5)
    worst = min(simulate(n, sigma, place, samples).fitted for place in places)
    return (
        f"| {n} | {sigma} | {100 * anywhere.fitted:.1f} | {100 * worst:.1f} "
        f"| {100 * anywhere.ordinary:.1f} | {anywhere.fitted_width:.2f} "
        f"| {anywhere.ordinary_width:.2f} |"
    )


def _relative_row(reference: Reference, n: int, sigma: float) -> str:
    cell = simulate(n, sigma, None, {3: 4000, 10: 3000, 30: 1500}[n], reference)
    return f"| {reference} | {n} | {sigma} | {100 * cell.fitted:.1f} | {100 * cell.ordinary:.1f} |"


def _blocks_row(reference: Reference, blocks: int, n: int, samples: int, sigma: float) -> str:
    cell = simulate_blocks(blocks, n, sigma, None, samples, reference)
    one_place = "-"
    if reference == "datum" and sigma < 1.0:
        places = [simulate_blocks(blocks, n, sigma, place, samples // 2) for place in (0.0, 0.5)]
        one_place = f"{100 * min(place.fitted for place in places):.1f}"
    return (
        f"| {reference} | {blocks} x {n} | {sigma} | {100 * cell.fitted:.1f} "
        f"| {100 * cell.below:.1f} | {100 * cell.above:.1f} | {one_place} "
        f"| {100 * cell.ordinary:.1f} |"
    )


def write_table() -> None:
    """Write the committed table; some minutes."""
    rows = [_table_row(n, sigma) for n in SIZES for sigma in SIGMAS]
    between = [_table_row(n, sigma_above_narrow(n)) for n in (5, 8, 10, 16, 21, 30, 45, 100)]
    relative = [
        _relative_row(reference, n, sigma)
        for reference in ("first", "previous")
        for n in (3, 10, 30)
        for sigma in (0.2, 0.3, 0.5, 1.0, 2.0, 5.0)
    ]
    over_blocks = [
        _blocks_row(reference, *layout, sigma)
        for reference in ("datum", "first")
        for layout in LAYOUTS
        for sigma in BLOCK_SIGMAS
    ]
    lines = [
        HEAD,
        *rows,
        BETWEEN_HEAD,
        *between,
        RELATIVE_HEAD,
        *relative,
        BLOCKS_HEAD,
        *over_blocks,
        "",
    ]
    TABLE.write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    write_table()
