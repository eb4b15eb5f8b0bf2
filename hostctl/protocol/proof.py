"""What an answer must contain to be believed, for the commands that ask for something.

A plain `ok` names no command. Where a command asks for a report, an `ok` without the report is
taken for somebody else's (see `exchange`), which is how the two ends fall into step again.
"""

from hostctl.protocol.events import (
    Capability,
    ErrorSaid,
    Event,
    FirmwareNamed,
    PositionReported,
    ProbeResult,
    TemperatureReported,
)

Proof = tuple[type[Event], ...]

_PROOFS: dict[str, Proof] = {
    "M105": (TemperatureReported,),
    "M114": (PositionReported,),
    "M115": (FirmwareNamed, Capability),
    "G30": (ProbeResult, ErrorSaid),
}


def proof_of(command: str) -> Proof:
    """The events of which one must precede the `ok` to `command`; empty: none need."""
    return _PROOFS.get(command.partition(" ")[0], ())
