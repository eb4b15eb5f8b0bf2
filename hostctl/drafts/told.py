"""Lengths and times for people, as the sentences of a draft have them."""

from math import floor, log10


def told_mm(length_mm: float) -> str:
    """With two significant digits and no more than tenths of a micrometre: `0.0053 mm`."""
    if length_mm <= 0:
        return "0 mm"
    digits = min(max(1 - floor(log10(length_mm)), 0), 4)
    return f"{length_mm:.{digits}f} mm"


def counted(number: int, what: str) -> str:
    """Of a noun whose first word counts: `2 observations of the tie`."""
    first, *rest = what.split(" ", 1)
    return " ".join([str(number), first if number == 1 else f"{first}s", *rest])


def told_time(seconds: float) -> str:
    """Rounded as an estimate is: to minutes, 5 minutes, from an hour and a half on to quarters."""
    minutes = max(round(seconds / 60), 1)
    if minutes > 20:
        minutes = 5 * round(minutes / 5)
    if minutes < 90:
        return f"{minutes} min"
    hours, rest = divmod(15 * round(minutes / 15), 60)
    return f"{hours} h {rest:02d} min" if rest else f"{hours} h"
