"""How indicators word a number: each a kind of line that makers send, and words for no reading."""

from collections.abc import Callable

MM_PER_INCH = 25.4


def _signed(value: float, digits: int) -> str:
    return f"{value:+.{digits}f}"


SPOKEN: dict[str, Callable[[float], str]] = {
    "plain": lambda mm: f"{_signed(mm, 3)}\r\n",
    "unit": lambda mm: f"  {_signed(mm, 3)} mm\r",
    "comma": lambda mm: f"{_signed(mm, 3).replace('.', ',')} mm\r\n",
    "channel": lambda mm: f"01A{mm:+08.3f}\r",
    "apart": lambda mm: f"{'-' if mm < 0 else '+'} {abs(mm):.3f}\n",
    "micrometre": lambda mm: f"{_signed(mm * 1000, 0)}\r\n",
    "inch": lambda mm: f"{_signed(mm / MM_PER_INCH, 5)} in\r\n",
}
"""Resolution 0.001 mm, 0.00001 in."""

NO_READING = "----\r\n"
