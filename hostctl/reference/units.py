"""The unit of a key, off the end of its name."""

BY_ENDING = {
    "_n_per_mm": "N/mm",
    "_per_k": "1/K",
    "_mm_s": "mm/s",
    "_mm": "mm",
    "_ms": "ms",
    "_s": "s",
    "seconds_left": "s",
    "_deg": "degrees",
    "_c": "°C",
    "_k": "K",
    "_n": "N",
}


def unit_of(name: str) -> str | None:
    """The unit that the name ends in; None where it ends in none."""
    return next((unit for ending, unit in BY_ENDING.items() if name.endswith(ending)), None)
