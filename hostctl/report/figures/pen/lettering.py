"""How wide words are drawn, before anybody draws them: estimated generously, so that they fit."""

import re
import unicodedata

TEXT_PX = 13
NARROW_PX = 358.0  # what a figure has on a phone 390 px wide; words must fit into it
ELLIPSIS = "…"

_SLENDER = frozenset("ijlft.,;:'|!()[]/ ·\xa0")
_BROAD = frozenset("mwMWQOGDNH@%&±−+=<>—…")


def plain(words: str) -> str:
    """The words without signs that steer instead of being seen: controls, direction marks."""
    return "".join(sign if sign.isprintable() else " " for sign in words)


def width_px(words: str, size_px: float = TEXT_PX, *, bold: bool = False) -> float:
    """How wide they are at most in a common sans-serif font (after DejaVu Sans, a wide one)."""
    return sum(map(_ems, words)) * size_px * (1.1 if bold else 1.0)


def shortened(words: str, px: float, *, bold: bool = False) -> str:
    """The words, or as many of their first letters as fit, and an ellipsis."""
    if width_px(words, bold=bold) <= px:
        return words
    kept = words
    while kept and width_px(kept + ELLIPSIS, bold=bold) > px:
        kept = kept[:-1]
    return kept.rstrip() + ELLIPSIS


def lines(words: str, px: float, *, most: int = 99, bold: bool = False) -> list[str]:
    """Broken at blanks, but not between number and unit; within a word where it is too long.
    The last of `most` is shortened."""
    broken: list[str] = []
    rest = re.sub(r"(?<=\d) (?=(%|mm)(\W|$))", "\xa0", words.strip())
    while rest and len(broken) < most - 1 and width_px(rest, bold=bold) > px:
        cut = _that_fit(rest, px, bold=bold)
        blank = rest.rfind(" ", 0, cut + 1)
        cut = blank if blank > cut / 3 else cut
        broken.append(rest[:cut].rstrip())
        rest = rest[cut:].lstrip()
    broken += [shortened(rest, px, bold=bold)] if rest else []
    return [line.replace("\xa0", " ") for line in broken]


def cells(words: str) -> int:
    """How many columns of a terminal they take."""
    return sum(map(_cells, words))


def in_cells(words: str, width: int) -> str:
    """The words in exactly so many columns of a terminal, shortened or filled up."""
    words = plain(words)
    if cells(words) > width:
        while words and cells(words) > width - 1:
            words = words[:-1]
        words += ELLIPSIS
    return words + " " * (width - cells(words))


def _that_fit(words: str, px: float, *, bold: bool) -> int:
    """How many of the first letters; at least one."""
    count = 1
    while count < len(words) and width_px(words[: count + 1], bold=bold) <= px:
        count += 1
    return count


def _ems(sign: str) -> float:
    if sign in _SLENDER:
        return 0.42
    if sign in _BROAD:
        return 0.92 if sign not in "WM@%mw" else 1.03
    if sign.isascii():
        return 0.72 if sign.isupper() else 0.65
    match unicodedata.category(sign), unicodedata.east_asian_width(sign):
        case (("Mn" | "Me"), _):
            return 0.0
        case _, ("W" | "F"):
            return 1.3  # pictographs are wider than letters
        case _:
            return 8.0 if "\ufdf0" <= sign <= "\ufdff" else 1.05  # whole phrases in one sign


def _cells(sign: str) -> int:
    if unicodedata.category(sign) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(sign) in ("W", "F") else 1
