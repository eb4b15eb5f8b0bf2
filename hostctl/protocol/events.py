"""What a controller can say, one frozen record a kind."""

from dataclasses import dataclass

from hostctl.protocol.complaints import Gravity


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledged:
    """`ok`: a command is done, or queued if it is a move."""

    line: int | None = None
    """The line number it is for, if the controller says so."""
    text: str = ""
    """What followed on the same line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResendAsked:
    """The controller wants line number `line` next, whatever it has just been sent."""

    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorSaid:
    """An error in the controller's words."""

    text: str
    gravity: Gravity = Gravity.REFUSAL
    last_line: int | None = None
    """The last line number it has, if it complains of a damaged or unexpected line."""
    marked: bool = False
    """It came as `!!`, as the terse dialect has it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Busy:
    """A long command is still being worked on."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """The controller has nothing to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Banner:
    """The controller has just started: position, line number and modes are gone."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Info:
    """A remark of the controller."""

    text: str
    marked: bool = False
    """It came behind `//`, as the terse dialect has it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HostAsked:
    """The controller asks the host to do something."""

    action: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PositionReported:
    """Where the nozzle is, by the controller's own count."""

    x_mm: float
    y_mm: float
    z_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperatureReported:
    """Temperatures and their targets, °C; None: not said."""

    nozzle_c: float | None
    nozzle_target_c: float | None
    bed_c: float | None
    bed_target_c: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeResult:
    """The height at which the probe touched."""

    x_mm: float
    y_mm: float
    z_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Capability:
    """Something the firmware says it can or can't do."""

    name: str
    present: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FirmwareNamed:
    """The firmware's own description, the whole line."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unrecognised:
    """Anything else: kept and shown, never fatal."""

    text: str


Event = (
    Acknowledged
    | ResendAsked
    | ErrorSaid
    | Busy
    | Wait
    | Banner
    | Info
    | HostAsked
    | PositionReported
    | TemperatureReported
    | ProbeResult
    | Capability
    | FirmwareNamed
    | Unrecognised
)
