"""What a run's record says of its ties: where the nozzle touched, and the plunger's sign."""

import json
from dataclasses import dataclass, field

from hostctl.records import TieContact
from hostctl.run.record.spots import Spot
from hostctl.store.rows import PLUNGER_SIGN, TIE_CONTACT, RunRecord


@dataclass(slots=True)
class Tied:
    """contacts: the last one of each place counts.  grows_pressed: None: nobody said yet."""

    contacts: dict[Spot, TieContact] = field(default_factory=dict)
    grows_pressed: bool | None = None


def tied_in(record: RunRecord) -> Tied:
    """As far as it had come."""
    tied = Tied()
    for event in record.events:
        if event.kind == TIE_CONTACT:
            data = json.loads(event.data)
            tied.contacts[data["block"], data["trial"]] = TieContact.from_data(data)
        elif event.kind == PLUNGER_SIGN:
            tied.grows_pressed = bool(json.loads(event.data)["grows_pressed"])
    return tied
