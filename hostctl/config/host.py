"""The host file (`host.yaml` in the daemon's directory): what runs beside the printers."""

import re
from ipaddress import ip_address
from typing import Annotated, Self, TypeVar

from pydantic import AfterValidator, Field, ValidationInfo, field_validator, model_validator
from pydantic_core import PydanticCustomError

from hostctl.config.machine import Checked, Name

TcpPort = Annotated[int, Field(ge=1, le=65535)]
FilePath = Annotated[str, Field(min_length=1)]


def _is_host(name: str) -> str:
    """A name or an IP address and nothing else: no `http://`, no port."""
    if not re.fullmatch(r"[A-Za-z0-9]([A-Za-z0-9.-]{0,251}[A-Za-z0-9])?", name):
        try:
            ip_address(name)
        except ValueError:
            raise ValueError("must be a name or an IP address alone, no http:// or port") from None
    return name


HostName = Annotated[str, AfterValidator(_is_host)]


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
    """How to trust the broker, and with what to be trusted by it."""

    ca_file: FilePath
    certificate_file: FilePath | None = None
    key_file: FilePath | None = None


class Messages(Part):
    """The MQTT broker. The password is in a file of its own, readable by the daemon alone."""

    broker: Annotated[str, Field(min_length=1)]
    port: TcpPort = 1883
    protocol: Annotated[str, Field(pattern=r"^(3\.1\.1|5)$")] = "3.1.1"
    user: str | None = None
    password_file: FilePath | None = None
    tls: Tls | None = None
    keepalive_s: Annotated[int, Field(ge=5, le=60)] = 10
    most_waiting: Annotated[int, Field(ge=100, le=1_000_000)] = 10_000  # kept while it is away
    discovery: bool = False  # announce to home-automation hubs
    discovery_prefix: Annotated[str, Field(pattern=r"^[^/+#\s]+(/[^/+#\s]+)*$")] = "homeassistant"


class Page(Part):
    """The phone page. On localhost alone until an address is given."""

    listen: str = "127.0.0.1"
    port: TcpPort = 8477
    address: HostName | None = None  # how phones reach it, for the QR code; None: worked out
    certificate_file: FilePath | None = None  # both of these: HTTPS
    key_file: FilePath | None = None

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.certificate_file is None) != (self.key_file is None):
            raise ValueError("certificate_file and key_file go together")
        return self


class Button(Part):
    """A push button on a GPIO line: short press done, long press hold."""

    machine: str
    chip: FilePath = "/dev/gpiochip0"
    line: Annotated[int, Field(ge=0)]
    lamp_line: Annotated[int, Field(ge=0)] | None = None
    pressed_is_low: bool = True
    debounce_ms: Annotated[int, Field(ge=1, le=500)] = 30
    long_press_ms: Annotated[int, Field(ge=300, le=5000)] = 1000


class Keys(Part):
    """A USB key, number pad or presenter; its own name under /dev/input/by-id."""

    machine: str
    device: FilePath
    typed_in_graduations: bool = False


class Host(Part):
    """The daemon's own settings."""

    machines: Annotated[list[Name], Field(min_length=1)]  # files in machines/, without .yaml
    database: FilePath | None = None
    socket: FilePath | None = None
    arm_for_s: Annotated[int, Field(ge=10, le=3600)] = 600
    messages: Messages | None = None
    page: Page | None = None
    buttons: list[Button] = Field(default_factory=list)
    keys: list[Keys] = Field(default_factory=list)
    simulated_people: bool = False  # they answer at machines whose port is sim://; for trying out
