"""The direction of a turn from where one stands."""

from hostctl.deeds import Direction, SeenFrom


def as_seen(direction: Direction, seen_from: SeenFrom) -> Direction:
    """A direction that holds from above, as it is from where one stands."""
    return direction if seen_from == "above" else other_way(direction)


def other_way(direction: Direction) -> Direction:
    """The other direction."""
    return "anticlockwise" if direction == "clockwise" else "clockwise"
