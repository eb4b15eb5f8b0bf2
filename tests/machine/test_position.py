"""What is said of a head that is elsewhere."""

import pytest

from hostctl.config.machine import Span, Travel
from hostctl.machine.position import why_elsewhere
from hostctl.records import Position

TRAVEL = Travel(
    x=Span(from_mm=0, to_mm=220), y=Span(from_mm=10, to_mm=200), z=Span(from_mm=-2, to_mm=250)
)


def at(x_mm: float, y_mm: float, z_mm: float) -> Position:
    return Position(x_mm=x_mm, y_mm=y_mm, z_mm=z_mm)


@pytest.mark.parametrize(
    ("is_at", "expected", "names"),
    [
        (at(210, 50, 10), at(220, 50, 10), "If x ends at 210 mm on this machine"),
        (at(100, 15, 10), at(100, 11, 10), "If y ends at 15 mm on this machine"),
        (at(100, 50, 0), at(100, 50, -2), "If z ends at 0 mm on this machine"),
        (at(210, 190, 10), at(220, 200, 10), "If x ends at 210 mm and y ends at 190 mm"),
        (at(210, 50.4, 10), at(220, 50, 10), "If x ends at 210 mm on this machine"),
    ],
)
def test_short_of_an_end_of_the_travel(is_at: Position, expected: Position, names: str):
    assert why_elsewhere(TRAVEL, is_at, expected).startswith(names)


@pytest.mark.parametrize(
    ("is_at", "expected"),
    [
        (at(30, 30, 0), at(30, 30, 10)),  # a lift that was not done
        (at(219, 50, 10), at(200, 50, 10)),  # beyond
        (at(210, 50, 0), at(220, 50, 10)),  # elsewhere in height as well
        (at(100, 50, 10.3), at(100, 50, 10)),
    ],
)
def test_anything_else_was_stopped_or_diverted(is_at: Position, expected: Position):
    assert why_elsewhere(TRAVEL, is_at, expected) == "See what stopped or diverted it."
