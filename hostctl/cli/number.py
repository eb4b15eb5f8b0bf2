"""Numbers on the command line, as people write them: with a decimal point or a decimal comma."""

from argparse import ArgumentTypeError
from collections.abc import Callable
from math import isfinite

LARGEST = 2**63 - 1


def number(text: str) -> float:
    """A finite number. Raises ArgumentTypeError, in words."""
    plain = text.replace(",", ".").replace("\N{MINUS SIGN}", "-")
    try:
        value = float(plain) if plain.isascii() and "_" not in plain else float("nan")
    except ValueError:
        value = float("nan")
    if not isfinite(value):
        raise ArgumentTypeError(f"'{text}' is not a number")
    return value


def whole(least: int, most: int = LARGEST) -> Callable[[str], int]:
    """A reader of whole numbers; what it does not take raises ArgumentTypeError, in words."""

    def read(text: str) -> int:
        digits = text[1:] if text.startswith(("-", "+")) else text
        known = digits.isascii() and digits.isdecimal() and len(digits) < 20
        if known and least <= int(text) <= most:
            return int(text)
        span = f"from {least} to {most}" if most < LARGEST else f"of {least} or more"
        raise ArgumentTypeError(f"'{text[:40]}' is no whole number {span}")

    return read


seed = whole(0)


def run_number(text: str) -> int:
    """The number of a run. Raises ArgumentTypeError, in words."""
    try:
        return whole(1)(text)
    except ArgumentTypeError:
        what = f"'{text[:40]}' is no run's number; 'hostctl runs' lists them"
        raise ArgumentTypeError(what) from None
