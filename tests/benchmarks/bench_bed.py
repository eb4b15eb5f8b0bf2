"""Minimum zone and plane beside their floors, in one interleaved run of medians.

    python tests/benchmarks/bench_bed.py

Floors: the convex hull alone, and hull then linear programme, for the minimum zone of 10,000
points (goal: at most 3 x the hull); a bare least-squares solve for the plane. Then growth with n.
"""

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from hostctl.metrology.geometry.bed import fit_plane
from hostctl.metrology.geometry.flatness import minimum_zone

ROUNDS = 9


def surface(kind: str, n: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(n)
    x, y = rng.uniform(0, 220, (2, n))
    heights = {
        "rough": lambda: rng.normal(0, 0.02, n) + 0.001 * x,
        "bowl": lambda: 1e-5 * ((x - 110) ** 2 + (y - 90) ** 2),
        "twisted": lambda: 1e-5 * (x - 110) * (y - 90) + rng.uniform(-1e-3, 1e-3, n),
    }
    return x, y, heights[kind]()


def hull_then_programme(x: np.ndarray, y: np.ndarray, z: np.ndarray) -> float:
    corners = ConvexHull(np.column_stack([x, y, z])).vertices
    x, y, z = x[corners], y[corners], z[corners]
    ones = np.ones_like(x)
    plane = np.column_stack([ones, x, y])
    sides = np.vstack([np.column_stack([-plane, -ones]), np.column_stack([plane, -ones])])
    free = [(None, None)] * 3 + [(0, None)]
    found = linprog([0, 0, 0, 1], A_ub=sides, b_ub=np.concatenate([-z, z]), bounds=free)
    return 2 * float(found.fun)


def medians(*calls: Callable[[], object]) -> list[float]:
    times: list[list[float]] = [[] for _ in calls]
    for _ in range(ROUNDS):
        for kept, call in zip(times, calls, strict=True):
            start = time.perf_counter()
            call()
            kept.append(time.perf_counter() - start)
    return [statistics.median(kept) * 1e3 for kept in times]


def main() -> None:
    for kind in ("rough", "twisted", "bowl"):
        x, y, z = surface(kind, 10_000)
        points = np.column_stack([x, y, z])
        ours, hull, programme = medians(
            lambda x=x, y=y, z=z: minimum_zone(x, y, z),
            lambda points=points: ConvexHull(points),
            lambda x=x, y=y, z=z: hull_then_programme(x, y, z),
        )
        zone = minimum_zone(x, y, z)
        difference = zone.vertical_width - hull_then_programme(x, y, z)
        print(
            f"minimum zone, 10,000 points, {kind}: {ours:.1f} ms; hull alone {hull:.1f} ms, "
            f"ratio {ours / hull:.2f} (goal 3); hull then programme {programme:.1f} ms; "
            f"gap {zone.gap:.0e}, difference {difference:.0e}"
        )
    x, y, z = surface("rough", 1_000_000)
    design = np.column_stack([np.ones_like(x), x - x.mean(), y - y.mean()])
    ours, floor = medians(lambda: fit_plane(x, y, z), lambda: np.linalg.qr(design))
    print(
        f"plane, 1,000,000 points: {ours:.0f} ms; bare QR {floor:.0f} ms, ratio {ours / floor:.2f}"
    )
    for n in (1_000, 10_000, 100_000, 1_000_000):
        x, y, z = surface("rough", n)
        zone_ms, plane_ms = medians(lambda: minimum_zone(x, y, z), lambda: fit_plane(x, y, z))  # noqa: B023
        print(f"growth, n = {n}: minimum zone {zone_ms:.2f} ms, plane {plane_ms:.2f} ms")


if __name__ == "__main__":
    main()
