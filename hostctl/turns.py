"""A turn of a screw in words: degrees, and the parts of a turn that have a plain name."""

from collections.abc import Mapping
from fractions import Fraction
from math import floor

MINUS = "\N{MINUS SIGN}"

PARTS_OF_A_TURN: Mapping[int, str] = {
    15: "a twenty-fourth of a turn",
    30: "a twelfth of a turn",
    45: "an eighth of a turn",
    60: "a sixth of a turn",
    90: "a quarter of a turn",
    120: "a third of a turn",
    135: "three eighths of a turn",
    180: "half a turn",
    210: "seven twelfths of a turn",
    240: "two thirds of a turn",
    270: "three quarters of a turn",
    300: "five sixths of a turn",
    330: "eleven twelfths of a turn",
    360: "a full turn",
}
"""Parts of a turn with a plain name, by degrees: how a turn is told, wherever it is."""

AS_GOOD_AS_DEG = 2
"""So little beside a part is not told: hands turn no finer (choice ours)."""

EXACT_DEG = 0.05


def part_of_a_turn(turn_deg: float) -> str:
    """A turn by the nearest part with a plain name, and what is over or missing where it tells:
    `a quarter of a turn less 13°`, `about half a turn`; empty where it is hardly any."""
    whole, named_deg, over_deg = _whole_and_part(turn_deg)
    parts = [PARTS_OF_A_TURN[360] if whole == 1 else f"{whole} turns"] if whole else []
    parts += [PARTS_OF_A_TURN[named_deg]] if named_deg else []
    if not parts:
        return ""
    if over_deg > 0:
        parts.append(f"{over_deg}°")
    *first, last = parts
    told = f"{', '.join(first)} and {last}" if first else last
    if over_deg < 0:
        return f"{told} less {-over_deg}°"
    exact = over_deg or abs(turn_deg - 360 * whole - named_deg) < EXACT_DEG
    return told if exact else f"about {told}"


def turn_in_words(turn_deg: float) -> str:
    """`77°, a quarter of a turn less 13°`."""
    part = part_of_a_turn(turn_deg)
    return f"{turn_deg:g}°, {part}" if part else f"{turn_deg:g}°"


def share_of_a_turn(turn_deg: float) -> str:
    """The same in figures, as a table has it: `1/4 − 13°`, `2 1/2`; `0` where it is hardly any."""
    whole, named_deg, over_deg = _whole_and_part(turn_deg)
    parts = [str(whole)] if whole else []
    parts += [str(Fraction(named_deg, 360))] if named_deg else []
    if not parts:
        return "0"
    if over_deg:
        parts.append(f"{'+' if over_deg > 0 else MINUS} {abs(over_deg)}°")
    return " ".join(parts)


def _whole_and_part(turn_deg: float) -> tuple[int, int, int]:
    """Whole turns, the degrees of the nearest part beside them that has a name, and the whole
    degrees over; 0 for so few that they don't tell."""
    whole, rest = divmod(turn_deg, 360.0)
    hardly_any = rest < min(PARTS_OF_A_TURN) - AS_GOOD_AS_DEG
    nearest = 0 if hardly_any else min(PARTS_OF_A_TURN, key=lambda deg: abs(deg - rest))
    over = floor(rest + 0.5) - nearest
    told = over if abs(over) > AS_GOOD_AS_DEG else 0
    return int(whole) + nearest // 360, nearest % 360, told
