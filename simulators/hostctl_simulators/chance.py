"""Chance that is keyed by event, not by order or time.

Each draw has a purpose and the number of the event it belongs to ("the third lowering of the
indicator"). The same seed therefore gives the same rig and the same hands whatever the speed,
however often a noisy line had to repeat itself, and whichever fault was injected beside it.
"""

from random import Random


def stream(seed: int, purpose: str) -> Random:
    """A generator of its own for one purpose."""
    return Random(f"{seed}/{purpose}")


def normal(seed: int, purpose: str, event: int) -> float:
    """The standard normal draw that belongs to the event with this number."""
    return Random(f"{seed}/{purpose}/{event}").gauss(0.0, 1.0)
