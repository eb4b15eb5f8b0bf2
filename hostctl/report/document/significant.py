"""Numbers as they are printed: to significant digits, to their uncertainty, to the resolution."""

import math
from dataclasses import dataclass
from typing import Self

from hostctl.metrology.basis.estimate import Estimate, Interval

MINUS, TO = "\N{MINUS SIGN}", "\N{EN DASH}"
_SMALLEST_PLAIN = 1e-6


@dataclass(frozen=True, slots=True)
class Lengths:
    """Lengths in mm, to a hundredth of the resolution and never fewer than four decimals."""

    decimals: int

    @classmethod
    def read_to(cls, resolution_mm: float) -> Self:
        """As the readings' resolution asks."""
        fine = math.ceil(-math.log10(resolution_mm)) + 2
        return cls(min(max(4, fine), 12))

    def mm(self, value: float) -> str:
        """A length, no sign unless below zero."""
        if math.isinf(value):
            return "any size"
        return f"{value:.{self.decimals}f}".replace("-", MINUS)

    def signed(self, value: float) -> str:
        """A length with its sign."""
        return f"{round(value, self.decimals) + 0.0:+.{self.decimals}f}".replace("-", MINUS)

    def range(self, interval: Interval) -> str:
        """An interval in a table; one that reaches down to zero is a bound."""
        if interval.low <= 0.0:
            return f"below {self.mm(interval.high)}"
        return f"{self.mm(interval.low)}{TO}{self.mm(interval.high)}"

    def span(self, interval: Interval) -> str:
        """An interval in a sentence."""
        low = "0" if interval.low == 0.0 else self.mm(interval.low)
        return f"{low} to {self.mm(interval.high)}"

    def from_to(self, interval: Interval) -> str:
        """An interval in a table, of a length that may lie on either side of zero."""
        between = TO if interval.low >= 0.0 else " to "
        return f"{self.mm(interval.low)}{between}{self.mm(interval.high)}"

    def with_reach(self, mean: Estimate) -> str:
        """A mean and how far it may be wrong, the farther way."""
        reach = max(mean.high - mean.value, mean.value - mean.low)
        return f"{self.signed(mean.value)} ±{self.mm(reach)}"


def significant(value: float, digits: int = 2) -> str:
    """The value with so many significant digits, its trailing zeros among them; ∞ as such."""
    if math.isinf(value):
        return "∞"
    if value == 0 or _SMALLEST_PLAIN <= abs(value) < 10**digits:
        return _plain(value, _decimals(value, digits))
    return _typographic(f"{value:.{digits - 1}e}" if abs(value) < 1 else f"{value:.0f}")


def beside(value: float, uncertainty: float, *, digits: int = 2, sign: bool = False) -> str:
    """The value, to the last digit of its uncertainty (two significant ones, JCGM 100 7.2.6)."""
    text = _plain(value, _decimals(uncertainty, digits))
    return f"+{text}" if sign and not text.startswith("\N{MINUS SIGN}") else text


def short_number(value: float) -> str:
    """Three significant digits, without trailing zeros after the point."""
    text = significant(value, 3)
    return text.rstrip("0").rstrip(".") if "." in text and "e" not in text else text


def in_mm(value_mm: float, resolution_mm: float | None) -> str:
    """`+0.02`, `0.00`, `−0.015`: as many decimals as the resolution has."""
    step = resolution_mm or 0.001
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    while decimals < 6 and abs(round(step, decimals) - step) > 1e-9:
        decimals += 1
    text = f"{value_mm:+.{decimals}f}".replace("-", "\N{MINUS SIGN}")
    return text[1:] if not text.strip("+\N{MINUS SIGN}0.") else text


def stated_mm(length_mm: float) -> str:
    """A length as somebody stated it, never fewer than two decimals: `0.10`, `0.125`."""
    plain = f"{length_mm:g}"
    return f"{length_mm:.2f}" if len(plain.partition(".")[2]) < 2 else plain


def whole(value: float) -> str:
    """A figure that is whole by nature, such as degrees of freedom once cut; ∞ as such."""
    return "∞" if math.isinf(value) else f"{value:.0f}"


def percent(share: float) -> str:
    """A share as a whole percentage."""
    return f"{100 * share:.0f} %"


def chance(share: float) -> str:
    """A chance that was asked for, with all its digits: 95 %, 99.9 %."""
    return f"{100 * share:g} %"


def _decimals(value: float, digits: int) -> int:
    """Decimals that show so many significant digits of the value."""
    if value == 0 or not math.isfinite(value):
        return digits
    exponent = int(f"{value:.{digits - 1}e}".split("e")[1])
    return max(digits - 1 - exponent, 0)


def _plain(value: float, decimals: int) -> str:
    return _typographic(f"{value:z.{decimals}f}")  # z: no minus before a zero


def _typographic(text: str) -> str:
    return text.replace("-", "\N{MINUS SIGN}")
