"""The limits of the check of the normal law, and how often it notices what: simulated, seeded.

Makes `normal_law_limits.py` again, in about two minutes:

    python -m hostctl.metrology.oddities.normal_law_simulation > normal_law_limits.py
"""

import sys
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from hostctl.metrology.oddities.normal_law import (
    LEVEL,
    Kind,
    kurtosis_law,
    least_spread,
    limits,
    skewness_variance,
)

Array = npt.NDArray[np.float64]
Row = tuple[float, float, float]

SEED = 20_261_128
FREEDOMS = 7, 8, 9, 11, 14, 19, 29, 49, 99, 199, 499
SIGMAS = 0.3, 0.4, 0.45, 0.5, 0.6, 0.7, 0.85, 1.0, 1.4, 2.0, 5.0  # graduations
PLACES = 0.0, 0.25, 0.5  # of the mean within a graduation
STUDIES, MOST_READINGS = 30_000, 800_000
SIZES = 8, 12, 20, 40, 60, 100
NOTICED_STUDIES, NOTICED_SIGMA = 20_000, 3.0


def block_sizes(df: int, kind: Kind) -> Iterator[tuple[int, ...]]:
    """Ways to have so many degrees of freedom: one block, or several, of like or unlike size."""
    if kind != "several blocks":
        yield (df + 1,)
    if kind == "one block":
        return
    for blocks in (2, 3, 6, df // 2):
        if df >= 2 * blocks:
            yield tuple(df // blocks + 1 + (place < df % blocks) for place in range(blocks))
    if df >= 11:
        yield df - 2, 4


def figures(blocks: Sequence[Array]) -> tuple[Array, Array, Array, Array]:
    """In each study (a row of each block) the spread of readings, and what is compared of them."""
    sizes = [block.shape[1] for block in blocks]
    n, df = sum(sizes), sum(sizes) - len(sizes)
    away = np.concatenate([block - block.mean(axis=1, keepdims=True) for block in blocks], axis=1)
    away.sort(axis=1)
    of_2 = away * away
    squares = np.maximum(of_2.sum(1), 1e-9)
    mean, variance = kurtosis_law(sizes)
    skewness = (of_2 * away).sum(1) / squares**1.5 / np.sqrt(skewness_variance(sizes) or 1.0)
    kurtosis = ((of_2 * of_2).sum(1) / squares**2 - mean) / np.sqrt(variance)
    k = np.arange(2, n - 1)
    between = (away.cumsum(axis=1)[:, 1 : n - 2] ** 2 * (n / (k * (n - k)))).max(axis=1)
    within = (squares - between + n / 12) / (squares + n / 12)
    return np.sqrt(squares / df), skewness, kurtosis, within


def limits_found(df: int, kind: Kind, rng: np.random.Generator) -> Row:
    """The widest limits over block sizes, sigma and place."""
    found = []
    for sizes in block_sizes(df, kind):
        studies = min(STUDIES, MOST_READINGS // sum(sizes))
        more = 1 if kind == "differences" else 0
        drawn = [rng.standard_normal((studies, size + more)) for size in sizes]
        drawn = [np.diff(block, axis=1) if more else block for block in drawn]
        for sigma in SIGMAS:
            for place in PLACES[: 1 if more else None]:
                found.append(_limits([np.round(block * sigma + place) for block in drawn], df))
    skewness, kurtosis, within = zip(*found, strict=True)
    return round(max(skewness), 3), round(max(kurtosis), 3), round(min(within), 3)


def _limits(readings: Sequence[Array], df: int) -> Row:
    """A study that scatters too little is never doubted."""
    spread, skewness, kurtosis, within = figures(readings)
    seen = spread >= least_spread(df)
    top = 1.0 - LEVEL / 3.0
    return (
        float(np.quantile(np.where(seen, np.abs(skewness), 0.0), top, method="higher")),
        float(np.quantile(np.where(seen, kurtosis, 0.0), top, method="higher")),
        float(np.quantile(np.where(seen, within, 1.0), 1.0 - top, method="lower")),
    )


def drawn_by_law(rng: np.random.Generator, studies: int, n: int) -> Mapping[str, Array]:
    """Settings of mean 0; in standard deviations, heaps and the outlier in those of the rest.

    two heaps: of like size, six apart.  one outlier: a single setting six off.
    """
    normal = rng.standard_normal((studies, n))
    outlier = normal.copy()
    outlier[:, 0] += 6.0
    return {
        "normal": normal,
        "t5": rng.standard_t(5, (studies, n)) / np.sqrt(5.0 / 3.0),
        "exponential": rng.standard_exponential((studies, n)) - 1.0,
        "two heaps": normal + 6.0 * (rng.random((studies, n)) < 0.5) - 3.0,
        "one outlier": outlier,
    }


def share_noticed(blocks: Sequence[Array], kind: Kind) -> float:
    """In how many studies the normal law is doubted, of readings in graduations."""
    df = sum(block.shape[1] - 1 for block in blocks)
    spread, skewness, kurtosis, within = figures(blocks)
    most_skewness, most_kurtosis, least_within = limits(df, kind)
    doubted = np.abs(skewness) > most_skewness
    doubted |= (kurtosis > most_kurtosis) | (within < least_within)
    return float(np.mean(doubted & (spread >= least_spread(df))))


def noticed(rng: np.random.Generator) -> dict[int, dict[str, float]]:
    """By settings in one block, how often each law is noticed."""
    found = {}
    for n in SIZES:
        place = rng.random((NOTICED_STUDIES, 1))
        found[n] = {
            name: round(share_noticed([np.round(NOTICED_SIGMA * law + place)], "one block"), 3)
            for name, law in drawn_by_law(rng, NOTICED_STUDIES, n).items()
        }
    return found


def limits_by_freedom(rng: np.random.Generator) -> dict[Kind, dict[int, Row]]:
    """For settings in one block and in several, and for differences of neighbouring ones."""
    kinds: tuple[Kind, ...] = "one block", "several blocks", "differences"
    return {kind: {df: limits_found(df, kind, rng) for df in FREEDOMS} for kind in kinds}


def module(
    table: Mapping[Kind, Mapping[int, Row]], rates: Mapping[int, Mapping[str, float]]
) -> str:
    """The Python file that holds both."""
    lines = [
        '"""Limits of the check of the normal law, and how often it notices what. Made by',
        f"`python -m hostctl.metrology.oddities.normal_law_simulation`, seed {SEED}; don't edit.",
        "",
        "LIMITS: by degrees of freedom, most skewness, most kurtosis, least scatter within heaps.",
        "NOTICED: by settings in one block, the share of studies in which a law is noticed; sigma",
        f"{NOTICED_SIGMA:g} graduations, heaps of like size and the outlier six of the rest's "
        "deviations off.",
        '"""',
        "",
        "LIMITS: dict[str, dict[int, tuple[float, float, float]]] = {",
    ]
    for kind, rows in table.items():
        lines += [f'    "{kind}": {{', *(f"        {df}: {row}," for df, row in rows.items())]
        lines.append("    },")
    lines += ["}", "", "NOTICED: dict[int, dict[str, float]] = {"]
    for n, shares in rates.items():
        lines.append(f"    {n}: {{")
        lines += [f'        "{name}": {share},' for name, share in shares.items()]
        lines.append("    },")
    return "\n".join([*lines, "}", ""])


def main() -> None:
    """Simulate, then say it as a module."""
    from hostctl.metrology.oddities import normal_law_limits

    rng = np.random.default_rng(SEED)
    # what is noticed is judged by the limits just found
    table = limits_by_freedom(rng)
    normal_law_limits.LIMITS.update({str(kind): rows for kind, rows in table.items()})
    sys.stdout.write(module(table, noticed(rng)))


if __name__ == "__main__":
    main()
