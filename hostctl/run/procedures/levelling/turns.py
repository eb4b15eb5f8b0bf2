"""The turns of a round as they are kept with its decision, and asked for."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, cast

from hostctl.deeds import Direction
from hostctl.run.procedures.procedure import Decision
from hostctl.run.procedures.turning_away import lowering
from hostctl.store.rows import LEVELLED

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew
    from hostctl.metrology.levelling.advice import Advice
    from hostctl.metrology.levelling.advice import Turn as Advised

TURN, JUMPED = "turn", "jumped"
"""Verdicts after which it goes on; of all of them: `metrology/levelling/standing.py`."""

LEAST_DEG = 2.0
"""A smaller turn is not asked for: hands turn no finer (choice ours)."""


def asked_alone(advice: "Advice") -> "Advice":
    """With no turn where it is too small for hands, or where its 95 % interval includes none."""
    turns = tuple(
        replace(turn, raise_mm=0.0, turn_deg=0.0) if _stays(turn, advice.share) else turn
        for turn in advice.turns
    )
    return replace(advice, turns=turns)


def _stays(turn: "Advised", share: float) -> bool:
    half_mm = (turn.high_mm - turn.low_mm) / 2
    return abs(turn.turn_deg) < LEAST_DEG or abs(turn.raise_mm) <= half_mm * share


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One screw's turn, as it is asked for."""

    screw: str
    raise_mm: float
    turn_deg: float
    direction: Direction
    target_mm: float | None


def levelled(decisions: Sequence[Decision]) -> list[Decision]:
    """One a round, in order."""
    return [decision for decision in decisions if decision.kind == LEVELLED]


def turns_of(decision: Decision) -> list[Turn]:
    """The screws that it has turned; those that stay are not among them."""
    told = cast("Sequence[dict[str, Any]]", decision.data["turns"])
    return [
        Turn(
            screw=one["screw"],
            raise_mm=one["raise_mm"],
            turn_deg=one["turn_deg"],
            direction=one["direction"],
            target_mm=one["target_mm"],
        )
        for one in told
        if one["turn_deg"] > 0
    ]


def asked_deg(turn: Turn) -> int:
    """As hands are asked for it."""
    return max(round(turn.turn_deg), 1)


def direction_of(screw: "BedScrew", raise_mm: float) -> Direction:
    """Which way it is turned to move the bed so, seen from above."""
    raises: Direction = "clockwise" if screw.raises_bed == "clockwise" else "anticlockwise"
    return raises if raise_mm >= 0 else lowering(screw)
