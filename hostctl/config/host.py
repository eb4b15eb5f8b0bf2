"""The host file (`host.yaml` in the daemon's directory): what runs beside the printers."""

import re
from ipaddress import ip_address
from typing import Annotated, Self, TypeVar

from pydantic import AfterValidator, Field, ValidationInfo, field_validator, model_validator
from pydantic_core import PydanticCustomError

from hostctl.config.checked import Checked, Name, Told

TcpPort = Annotated[int, Field(ge=1, le=65535), Told(unit="TCP port")]
FilePath = Annotated[str, Field(min_length=1), Told(allowed="a path")]
MachineName = Annotated[str, Told(allowed="one of `machines`")]


def _is_host(name: str) -> str:
    """A name or an IP address and nothing else: no `http://`, no port."""
    if not re.fullmatch(r"[A-Za-z0-9]([A-Za-z0-9.-]{0,251}[A-Za-z0-9])?", name):
        try:
            ip_address(name)
        except ValueError:
            raise ValueError("must be a name or an IP address alone, no http:// or port") from None
    return name


HostName = Annotated[
    str, AfterValidator(_is_host), Told(allowed="a name or an IP address alone, no http:// or port")
]


T = TypeVar("T")
LEAST = {"messages": "broker: localhost", "page": "port: 8477", "tls": "ca_file: ca.crt"}
"""What to write at least under a section."""


class Part(Checked):
    """A part of the host file. A key with nothing behind it is refused, never taken as left out."""

    @field_validator("*")  # of what is given alone, not of defaults
    @classmethod
    def _is_not_empty(cls, given: T, info: ValidationInfo) -> T:
        if given is None:
            least = LEAST.get(info.field_name or "")
            said = f"Write at least '{least}'" if least else "Write its value"
            raise PydanticCustomError("empty", "is empty", {"next": f"{said}, or leave it out."})
        return given


class Tls(Part):
    """How to trust the broker, and with what to be trusted by it; for one on another computer."""

    ca_file: FilePath
    """The authority that vouches for the broker."""
    certificate_file: FilePath | None = None
    """Where the broker asks for one: the daemon's own certificate."""
    key_file: FilePath | None = None
    """The key that belongs to it."""


class Messages(Part):
    """The MQTT broker. Without it: no messages."""

    broker: Annotated[str, Field(min_length=1), Told(allowed="a name or an IP address")]
    """The computer it runs on."""
    port: TcpPort = 1883
    """The port it listens at."""
    protocol: Annotated[
        str, Field(pattern=r"^(3\.1\.1|5)$"), Told(allowed="`3.1.1` or `5`, in quotes")
    ] = "3.1.1"
    """The version of MQTT that is spoken."""
    user: str | None = None
    """The daemon's name at the broker."""
    password_file: FilePath | None = None
    """It alone holds the password, readable by the daemon's user alone; the head of
    `broker/mosquitto.conf` says how to make it."""
    tls: Tls | None = None
    keepalive_s: Annotated[int, Field(ge=5, le=60)] = 10
    """Without a word for one and a half times as long, the broker says that we are offline."""
    most_waiting: Annotated[int, Field(ge=100, le=1_000_000), Told(unit="messages")] = 10_000
    """Kept on disk while the broker is away."""
    discovery: bool = False
    """True: home-automation hubs find the machine by themselves."""
    discovery_prefix: Annotated[
        str,
        Field(pattern=r"^[^/+#\s]+(/[^/+#\s]+)*$"),
        Told(allowed="a topic, without + # or spaces"),
    ] = "homeassistant"
    """The first word of the topics where they look."""


class Page(Part):
    """The phone page; without it there is none. On this computer alone until `listen` says
    otherwise."""

    listen: Annotated[str, Told(allowed="an IP address")] = "127.0.0.1"
    """The address it listens at; `0.0.0.0`: all of this computer's."""
    port: TcpPort = 8477
    """The port it listens at."""
    address: Annotated[HostName | None, Told(left_out="worked out")] = None
    """How phones reach it, for the QR code."""
    certificate_file: FilePath | None = None
    """With `key_file` the page is HTTPS: nobody on the network can listen in, and a phone's screen
    stays on. `broker/make_certificates.sh` makes both; it has to name the `address`."""
    key_file: FilePath | None = None
    """The key that belongs to it; the two go together."""

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.certificate_file is None) != (self.key_file is None):
            raise ValueError("certificate_file and key_file go together")
        return self


class Button(Part):
    """Push buttons on GPIO lines: a short press is done, a long one hold; while no run is going on
    a short press arms. They need `printer-hostctl[gpio]`."""

    machine: MachineName
    """Beside which machine it is."""
    chip: FilePath = "/dev/gpiochip0"
    """The GPIO chip."""
    line: Annotated[int, Field(ge=0), Told(unit="line number")]
    """Its line on the chip."""
    lamp_line: Annotated[int, Field(ge=0), Told(unit="line number")] | None = None
    """Lit while the machine waits for you."""
    pressed_is_low: bool = True
    """Whether the button pulls its line low (to ground) when pressed."""
    debounce_ms: Annotated[int, Field(ge=1, le=500)] = 30
    """Changes shorter than this are no press."""
    long_press_ms: Annotated[int, Field(ge=300, le=5000)] = 1000
    """From here on a press is a long one."""


class Keys(Part):
    """USB keys, number pads or presenters. Enter is done; while no run is going on Enter arms."""

    machine: MachineName
    """Beside which machine it is."""
    device: FilePath
    """Its own name under /dev/input/by-id."""
    typed_in_graduations: bool = False
    """True: 2 is typed for two graduations."""


class Host(Part):
    """The daemon's own settings."""

    machines: Annotated[
        list[Name], Field(min_length=1), Told(allowed="list of names, at least one")
    ]
    """Files in `machines/` beside it, without .yaml. Each machine needs a port of its own."""
    database: Annotated[
        FilePath | None, Told(left_out="`$HOSTCTL_DATABASE`, else the service's own")
    ] = None
    """Where readings are kept."""
    socket: Annotated[
        FilePath | None, Told(left_out="`$HOSTCTL_SOCKET`, else the service's own")
    ] = None
    """Where commands reach the daemon."""
    arm_for_s: Annotated[int, Field(ge=10, le=3600)] = 600
    """How long one start from afar stays allowed once somebody at the machine has armed it."""
    messages: Messages | None = None
    page: Page | None = None
    buttons: list[Button] = Field(default_factory=list)
    keys: list[Keys] = Field(default_factory=list)
    simulated_people: bool = False
    """They answer at machines whose port is sim://; for trying out."""
