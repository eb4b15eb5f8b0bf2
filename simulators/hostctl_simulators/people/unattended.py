"""A simulated printer with nobody at it: what its user can't do with hands is done for them."""

from typing import get_args

from hostctl.choices import choices_of
from hostctl.deeds import (
    ClearAway,
    Deed,
    JoinByHand,
    JoinLamp,
    LayPlate,
    MeterLeads,
    PressPlunger,
    SetOnBlock,
    TryBlade,
    WatchLeads,
    WireContact,
)
from hostctl_simulators.people.hands import Hands
from hostctl_simulators.people.people import People, Question, Said

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


class Unattended:
    """Does it at once, as practised hands would; the user answers the prompt."""

    def __init__(self, hands: Hands) -> None:
        self._people = People(hands)
        self._done = 0

    def do(self, deed: Deed) -> str:
        """Do it where it belongs to a tie; what is to be answered, in words; empty: nothing."""
        if not isinstance(deed, get_args(OfTie)):
            return ""
        self._done += 1
        question = Question(prompt_id=str(self._done), deed=deed, operator="")
        try:
            return _told(deed, self._people.answer(question))
        except LookupError as cause:
            return f"Simulated: {cause.args[0]}."


def _told(deed: Deed, said: Said) -> str:
    """The lamp's own line shows what a join by hand did."""
    if said.reading_mm is not None:
        return f"Simulated: it is the {said.reading_mm:.2f} mm blade."
    if said.choice is not None and not isinstance(deed, JoinByHand | JoinLamp):
        text = next(each.text for each in choices_of(deed) if each.word == said.choice)
        return f"Simulated: {text}."
    return "Simulated: done." if said.choice is None else ""
