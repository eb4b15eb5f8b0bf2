"""Numbers read off the indicator at the bench, each held against what it must be."""

from dataclasses import dataclass

from hostctl.begin.bench import bed_questions as b
from hostctl.begin.bench.bench import EYES_ALONE, Again, Bench

AGREES_MM = 0.03
"""Two readings of one thing, graduation apart, agree to this (choice ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """How far from `zero_mm` a number is believed to be, either way."""

    zero_mm: float
    least_mm: float
    most_mm: float
    why: str
    """What is said where it is not."""

    def __contains__(self, said_mm: float) -> bool:
        return self.least_mm - 1e-9 <= abs(said_mm - self.zero_mm) <= self.most_mm + 1e-9


async def free_number(bench: Bench) -> float:
    """What it shows with the plunger free, asked until two in a row say the same.

    What it showed earlier in the sitting counts as one.
    """
    last_mm, again = bench.shown_free_mm, ""
    while True:
        said_mm = await bench.length_mm(b.shown_free(again), EYES_ALONE)
        if last_mm is not None and abs(said_mm - last_mm) <= AGREES_MM:
            bench.shown_free_mm = said_mm
            return said_mm
        last_mm, again = said_mm, "Once more, since all is counted from it: what does it show?"


async def believed(bench: Bench, said_mm: float, expected: Expected) -> float:
    """The number, or what is said when it is asked again. Raises Again where it stays odd."""
    if said_mm in expected:
        return said_mm
    again = f"{said_mm:g} mm is hard to believe: {expected.why}. Look again: what does it show?"
    said_mm = await bench.length_mm(b.shows_now("contact.shows_again_mm", again), EYES_ALONE)
    if said_mm in expected:
        return said_mm
    raise Again(f"{said_mm:g} mm: {expected.why}. See that indicator and mount sit tight.")


async def shows(bench: Bench, expected: Expected) -> float:
    """What it shows now, as it must be. Raises Again."""
    said_mm = await bench.length_mm(b.shows_now(), EYES_ALONE)
    return await believed(bench, said_mm, expected)


def free_again(free_mm: float, resolution_mm: float) -> Expected:
    """The plunger hangs free once more."""
    return Expected(
        zero_mm=free_mm,
        least_mm=0.0,
        most_mm=AGREES_MM + resolution_mm,
        why=f"hanging free it showed {free_mm:g} mm",
    )
