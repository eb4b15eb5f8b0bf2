"""What is seen at a printer where one of several is to be said."""

from hostctl.choices import BEYOND, DARK, FELL, GREW, HEAT, LIT, PULLED, SLACK, WITHIN
from hostctl.deeds import Deed, MeterLeads, PressPlunger, SayHeatAgain, WatchLeads
from hostctl_simulators.people.hands import Hands


def seen(hands: Hands, deed: Deed) -> str:
    """The choice of this deed that is true; of every other it is what the lamp shows."""
    match deed:
        case MeterLeads():
            return WITHIN if hands.leads_within() else BEYOND
        case WatchLeads():
            return SLACK if hands.leads_slack() else PULLED
        case PressPlunger():
            return GREW if hands.press_plunger() > 0 else FELL
        case SayHeatAgain():
            return HEAT
        case _:
            return LIT if hands.contact_closed() else DARK
