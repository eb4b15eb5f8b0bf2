"""How a bed screw is turned away before a setting, so that the setting owes nothing to the last."""

from math import hypot
from random import Random
from typing import TYPE_CHECKING

from hostctl.deeds import Direction, TurnScrew
from hostctl.records import Place

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew, Machine
    from hostctl.config.study import Study

TURN_GRID_DEG = 15
"""Turns are told in multiples of this: finer can't be judged by eye."""


def turned_away(machine: "Machine", point: str, turn_deg: float) -> TurnScrew:
    """The screw at a point turned so far that the bed goes down there."""
    screw = screw_at(machine, point)
    return TurnScrew(
        screw=screw.name if screw else point,
        turn_deg=turn_deg,
        direction=lowering(screw) if screw else None,
    )


def turn_away_deg(study: "Study", seed: int, place: Place) -> int:
    """How far the screw is turned away before this setting, degrees; 0: the study turns none.

    Drawn evenly from the multiples of 15 in the study's range (or its lower end when there are
    none), anew for each attempt.
    """
    turn_away = study.cycle.turn_away
    if turn_away is None:
        return 0
    least = -(-turn_away.least_deg // TURN_GRID_DEG) * TURN_GRID_DEG
    choices = range(least, turn_away.most_deg + 1, TURN_GRID_DEG) or [turn_away.least_deg]
    which = f"{place.block} {place.round} {place.trial} {place.attempt}"
    return Random(f"turn {seed} {which}").choice(choices)


def screw_at(machine: "Machine", point_name: str) -> "BedScrew | None":
    """The screw nearest to a point; None where the machine file names none."""
    point = next(point for point in machine.points if point.name == point_name)
    return min(
        machine.screws,
        key=lambda screw: hypot(screw.x_mm - point.x_mm, screw.y_mm - point.y_mm),
        default=None,
    )


def lowering(screw: "BedScrew") -> Direction:
    """The way that lowers the bed, seen from above."""
    return "anticlockwise" if screw.raises_bed == "clockwise" else "clockwise"
