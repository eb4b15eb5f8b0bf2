"""What a controller switches and sees beside its axes and heaters: outputs, inputs, the door."""

import re
from typing import Annotated, Self

from pydantic import Field, model_validator

from hostctl.config.checked import Checked, Misplaced, Name, Told

ORDERS = (
    (re.compile(r"M42 P(?P<place>0|[1-9][0-9]{0,2}) S(?P<value>0|[1-9][0-9]{0,2})"), 255),
    (re.compile(r"M280 P(?P<place>0|[1-9][0-9]?) S(?P<value>0|[1-9][0-9]{0,2})"), 180),
    (re.compile(r"M106 P(?P<place>0|[1-9][0-9]?) S(?P<value>0|[1-9][0-9]{0,2})"), 255),
    (re.compile(r"M107 P(?P<place>0|[1-9][0-9]?)(?P<value>)"), 0),
)
"""The orders that an output may have, and the most each may be set to: a pin, a small motor with
an arm (degrees), a fan, a fan off. The codes are those of the openly published page on G-code that
boards share (from memory); nothing that moves an axis, heats, sets or limits is among them."""

AS_REPORTED = "a name as the controller reports it to M119"

InputName = Annotated[str, Field(min_length=1, max_length=40), Told(allowed=AS_REPORTED)]
InputWord = Annotated[str, Field(min_length=1, max_length=40), Told(allowed="a word it reports")]


class InputReads(Checked):
    """What one of the controller's inputs must say."""

    input: InputName
    """Which; large letters count for small."""
    reads: InputWord
    """What it must say."""


class Output(Checked):
    """One thing beside the axes that the controller switches, as a probe that comes out."""

    name: Name
    """Its name in studies and records."""
    order: Annotated[
        str,
        Told(
            allowed="`M42 P… S0` to `S255`, `M280 P… S0` to `S180`, `M106 P… S0` to `S255`, "
            "`M107 P…`"
        ),
    ]
    """What is sent, just so. Nothing that moves an axis, heats, sets or limits
    is allowed; see that a pin of M42 drives neither a heater nor a motor."""
    proven_by: Annotated[InputReads | None, Told(left_out="nothing proves it")] = None
    """What proves that it was done; looked at again before each descent."""

    @model_validator(mode="after")
    def _harmless(self) -> Self:
        for form, most in ORDERS:
            if (found := form.fullmatch(self.order)) is not None:
                if int(found["value"] or 0) > most:
                    raise Misplaced(f"sets more than {most}", "order")
                return self
        raise Misplaced(
            "is no order of an auxiliary output: none that moves, heats, sets or limits is sent",
            "order",
            next_step="Write it as 'M42 P4 S255', 'M280 P0 S10', 'M106 P1 S255' or 'M107 P1'.",
        )


class Door(Checked):
    """A switch at the door or hood: the head moves only while it is shut. It is looked at before
    each motion, not during one, and stands in for no interlock of the machine's own."""

    input: InputName
    """Which input it is; large letters count for small."""
    shut: InputWord = "triggered"
    """What the input says while it is shut; anything else counts as open."""
