"""A block's readings as dots on the grid of graduations, stacked where they coincide."""

from collections.abc import Sequence

from hostctl.report.document.significant import in_mm

NARROWEST, LABELS = 50, 34
HIGHEST = 3
"""So many dots stand on each other; where more readings coincide a dot stands for several."""


def stacked(
    readings_mm: Sequence[float], resolution_mm: float, width: int, faint: str, off: str
) -> list[str]:
    """Rows of dots over their axis, the last reading beside it; none where it is too narrow."""
    if width < NARROWEST:
        return []
    step_mm = resolution_mm
    half = max(3, *(abs(round(value / step_mm)) for value in readings_mm))
    grouped = -(-(2 * half + 1) * 2 // (width - LABELS))
    step_mm, half = step_mm * grouped, -(-half // grouped)
    counts = _counts(readings_mm, step_mm, half)
    each = -(-max(counts) // HIGHEST)
    rows = [
        " ".join("●" if count > level * each else " " for count in counts)
        for level in reversed(range(-(-max(counts) // each)))
    ]
    axis = " ".join("┼" if index == half else "┴" for index in range(2 * half + 1))
    low, high = (in_mm(sign * half * step_mm, resolution_mm) for sign in (-1, 1))
    latest = in_mm(readings_mm[-1], resolution_mm)
    pad = " " * (len(low) + 1)
    several = f"   a dot: up to {each}" if each > 1 else ""
    return [
        "",
        *(f"{pad}{row}" for row in rows),
        f"{faint}{low} {axis} {high} mm{off}   last {latest}{several}",
    ]


def _counts(readings_mm: Sequence[float], step_mm: float, half: int) -> list[int]:
    """How many readings lie at each step from `-half` to `half`; what is beyond counts there."""
    counts = [0] * (2 * half + 1)
    for value in readings_mm:
        counts[min(2 * half, max(0, round(value / step_mm) + half))] += 1
    return counts
