"""A number on the command line, as people write it: with a decimal point or a decimal comma."""

from argparse import ArgumentTypeError
from math import isfinite


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
