"""A turn of a screw in words: its part of a turn, and its direction from where one stands."""

from hostctl.deeds import PARTS_OF_A_TURN, Direction, SeenFrom


def part_of_a_turn(turn_deg: float) -> str:
    """The nearest part with a plain name: `a third of a turn`, `2 turns and half a turn`; empty
    where it is hardly any."""
    whole, rest = divmod(turn_deg, 360.0)
    nearest = min((0, *PARTS_OF_A_TURN), key=lambda deg: abs(deg - rest))
    if nearest == 360:
        whole, nearest = whole + 1, 0
    part = PARTS_OF_A_TURN[nearest] if nearest else ""
    if not whole:
        return part
    turns = PARTS_OF_A_TURN[360] if whole == 1 else f"{whole:.0f} turns"
    return f"{turns} and {part}" if part else turns


def as_seen(direction: Direction, seen_from: SeenFrom) -> Direction:
    """A direction that holds from above, as it is from where one stands."""
    return direction if seen_from == "above" else other_way(direction)


def other_way(direction: Direction) -> Direction:
    """The other direction."""
    return "anticlockwise" if direction == "clockwise" else "clockwise"
