"""A turn of a screw in words: its part of a turn, and its direction from where one stands."""

from hostctl.deeds import Direction, SeenFrom

_PARTS = {
    0: "",
    15: "a twenty-fourth of a turn",
    30: "a twelfth of a turn",
    45: "an eighth of a turn",
    60: "a sixth of a turn",
    90: "a quarter of a turn",
    120: "a third of a turn",
    135: "three eighths of a turn",
    180: "half a turn",
    225: "five eighths of a turn",
    240: "two thirds of a turn",
    270: "three quarters of a turn",
    300: "five sixths of a turn",
    315: "seven eighths of a turn",
    360: "a full turn",
}


def part_of_a_turn(turn_deg: float) -> str:
    """The nearest part with a plain name: `a third of a turn`, `2 turns and half a turn`; empty
    where it is hardly any."""
    whole, rest = divmod(turn_deg, 360.0)
    nearest = min(_PARTS, key=lambda deg: abs(deg - rest))
    if nearest == 360:
        whole, nearest = whole + 1, 0
    if not whole:
        return _PARTS[nearest]
    if whole == 1 and nearest == 0:
        return _PARTS[360]
    turns = "a full turn" if whole == 1 else f"{whole:.0f} turns"
    return f"{turns} and {_PARTS[nearest]}" if nearest else turns


def as_seen(direction: Direction, seen_from: SeenFrom) -> Direction:
    """A direction that holds from above, as it is from where one stands."""
    return direction if seen_from == "above" else other_way(direction)


def other_way(direction: Direction) -> Direction:
    """The other direction."""
    return "anticlockwise" if direction == "clockwise" else "clockwise"
