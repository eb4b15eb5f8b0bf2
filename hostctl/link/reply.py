"""What came back: the answer to one command, and the answer to the first."""

from dataclasses import dataclass, replace
from typing import TypeVar

from hostctl.protocol.events import (
    Acknowledged,
    Busy,
    Capability,
    ErrorSaid,
    Event,
    FirmwareNamed,
    Info,
    PositionReported,
    ProbeResult,
    TemperatureReported,
    Unrecognised,
)

E = TypeVar("E", bound=Event)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """All the controller said from the sending of `command` until it was done.

    A report may be absent though it was asked for, if it was damaged on the way: ask again.
    Replies carry no checksum, so a report that is there may still be wrong in a digit.
    """

    command: str
    line: int
    events: tuple[Event, ...]

    @property
    def position(self) -> PositionReported | None:
        """The last position reported."""
        return _last(PositionReported, self.events)

    @property
    def temperature(self) -> TemperatureReported | None:
        """The last temperatures reported."""
        return _last(TemperatureReported, self.events)

    @property
    def probe(self) -> ProbeResult | None:
        """The last probe result."""
        return _last(ProbeResult, self.events)

    @property
    def errors(self) -> tuple[ErrorSaid, ...]:
        """Errors that concern the command itself, not the line."""
        return tuple(event for event in self.events if isinstance(event, ErrorSaid))

    @property
    def was_busy(self) -> bool:
        """Whether it said so before it answered."""
        return _last(Busy, self.events) is not None

    @property
    def texts(self) -> tuple[str, ...]:
        """Everything else in words, in order: remarks, what followed an `ok`, the unrecognised."""
        return tuple(
            event.text
            for event in self.events
            if isinstance(event, Acknowledged | Info | FirmwareNamed | Unrecognised) and event.text
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Greeting:
    """How the controller introduced itself (M115)."""

    firmware: str
    """Its own words; empty if it gave none."""
    capabilities: dict[str, bool]
    marks_remarks: bool | None = None
    """Whether `//` or `!!` stands before what it remarks, rather than `echo:` or `Error:`; None: it
    has remarked nothing yet, or both ways."""

    @classmethod
    def of(cls, reply: Reply) -> "Greeting":
        """Read the answer to M115."""
        named = _last(FirmwareNamed, reply.events)
        return cls(
            firmware=named.text if named else "",
            capabilities={
                event.name: event.present for event in reply.events if isinstance(event, Capability)
            },
        ).after_remarks(
            {event.marked for event in reply.events if isinstance(event, Info | ErrorSaid)}
        )

    def after_remarks(self, marks: set[bool]) -> "Greeting":
        """The same, with how earlier remarks were marked."""
        known = marks if self.marks_remarks is None else marks | {self.marks_remarks}
        return replace(self, marks_remarks=known.copy().pop() if len(known) == 1 else None)


def _last(kind: type[E], events: tuple[Event, ...]) -> E | None:
    return next((event for event in reversed(events) if isinstance(event, kind)), None)
