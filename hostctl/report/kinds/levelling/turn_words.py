"""A turn of a screw in words: its part of a turn, and its direction from where one stands."""

from fractions import Fraction

from hostctl.deeds import PARTS_OF_A_TURN, Direction, SeenFrom


def part_of_a_turn(turn_deg: float) -> str:
    """The nearest part with a plain name: `a third of a turn`, `2 turns and half a turn`; empty
    where it is hardly any."""
    whole, nearest = _nearest(turn_deg)
    part = PARTS_OF_A_TURN[nearest] if nearest else ""
    if not whole:
        return part
    turns = PARTS_OF_A_TURN[360] if whole == 1 else f"{whole} turns"
    return f"{turns} and {part}" if part else turns


def share_of_a_turn(turn_deg: float) -> str:
    """The same in figures, as a table has it: `1/3`, `2 1/2`; `0` where it is hardly any."""
    whole, nearest = _nearest(turn_deg)
    parts = [str(whole)] if whole else []
    parts += [str(Fraction(nearest, 360))] if nearest else []
    return " ".join(parts) or "0"


def _nearest(turn_deg: float) -> tuple[int, int]:
    """Whole turns, and the degrees of the nearest part beside them that has a name."""
    whole, rest = divmod(turn_deg, 360.0)
    nearest = min((0, *PARTS_OF_A_TURN), key=lambda deg: abs(deg - rest))
    return int(whole) + nearest // 360, nearest % 360


def as_seen(direction: Direction, seen_from: SeenFrom) -> Direction:
    """A direction that holds from above, as it is from where one stands."""
    return direction if seen_from == "above" else other_way(direction)


def other_way(direction: Direction) -> Direction:
    """The other direction."""
    return "anticlockwise" if direction == "clockwise" else "clockwise"
