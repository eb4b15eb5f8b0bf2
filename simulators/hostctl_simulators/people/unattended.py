"""A simulated printer with nobody at it: what its user can't do with hands is done for them."""

from typing import get_args

from hostctl.choices import choices_of
from hostctl.deeds import (
    ClearAway,
    Deed,
    JoinByHand,
    JoinLamp,
    LayPlate,
    LiftHold,
    MeterLeads,
    PressPlunger,
    SetGap,
    SetOnBlock,
    TryBlade,
    TurnScrew,
    WatchLeads,
    WireContact,
)
from hostctl_simulators.people.gradual import Gradual
from hostctl_simulators.people.people import People, Question, Said
from hostctl_simulators.physical.world import World

OfTie = (
    ClearAway
    | JoinByHand
    | JoinLamp
    | LayPlate
    | MeterLeads
    | PressPlunger
    | SetOnBlock
    | TryBlade
    | WatchLeads
    | WireContact
)
"""What belongs to a tie. A lamp is looked at, which needs no doing."""

OfBed = TurnScrew | SetGap | LiftHold
"""What is done besides, and shows: screws turned, a door shut, a probe freed."""

PRACTISED_HANDS = "volunteer-a"


class Unattended:
    """Does it at once, as practised hands would, but for turns that are asked for, over which they
    take time; the user answers the prompt."""

    def __init__(self, world: World) -> None:
        self._people = People(world)
        self._world = world
        self._turning = Gradual(world.turn_screw)
        self._done = 0

    def do(self, deed: Deed) -> str:
        """Do it; what is to be answered in a tie, in words; empty: nothing."""
        if not isinstance(deed, get_args(OfTie | OfBed)):
            return ""
        self._done += 1
        self.finish()
        self._world.turn_by = self._turning.turn
        question = Question(prompt_id=str(self._done), deed=deed, operator=PRACTISED_HANDS)
        try:
            said = self._people.answer(question)
            return "" if isinstance(deed, get_args(OfBed)) else _told(deed, said)
        except LookupError as cause:
            return f"Simulated: {cause.args[0]}."
        finally:
            self._world.turn_by = self._world.turn_screw

    def finish(self) -> None:
        """What is left of a turn, now."""
        self._turning.finish()


def _told(deed: Deed, said: Said) -> str:
    """The lamp's own line shows what a join by hand did."""
    if said.reading_mm is not None:
        return f"Simulated: it is the {said.reading_mm:.2f} mm blade."
    if said.choice is not None and not isinstance(deed, JoinByHand | JoinLamp):
        text = next(each.text for each in choices_of(deed) if each.word == said.choice)
        return f"Simulated: {text}."
    return "Simulated: done." if said.choice is None else ""
