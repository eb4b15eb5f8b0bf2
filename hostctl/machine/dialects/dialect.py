"""A dialect: how one family of controllers words what differs between them.

Most codes are common to all (ISO 6983 and its habits); a dialect has only the rest.
"""

from collections.abc import Awaitable, Callable
from typing import Protocol

from hostctl.errors import PluginError
from hostctl.link.reply import Greeting, Reply
from hostctl.plugins import Kind

FALLBACK = "classic"
"""What a controller is taken to speak that no dialect recognises."""

TRIES = 3


class Dialect(Protocol):
    """The wording of one family. Commands come back without number and checksum."""

    name: str

    def recognises(self, greeting: Greeting) -> bool:
        """Whether a controller that introduces itself like this speaks this dialect."""
        ...

    def keep_motors_on(self) -> str | None:
        """The command that stops the controller from letting idle motors go; None: none needed."""
        ...

    def rise_unhomed(self, rise_mm: float, speed_mm_s: float) -> list[str]:
        """The commands that raise the head by `rise_mm` from wherever it is, before homing.

        Absolute, so that one that is sent twice does no harm. Empty where the controller refuses
        to move unhomed; it then rises by itself as it homes.
        """
        ...

    def probe(self, x_mm: float, y_mm: float) -> str:
        """The command for one touch with the probe's tip over `x_mm`, `y_mm`."""
        ...

    def probe_height_mm(self, reply: Reply) -> float | None:
        """The height of the touch, mm, out of the answer to `probe`; None: it is not in it."""
        ...


DIALECTS: Kind[Callable[[], Dialect]] = Kind("hostctl.dialects")


def recognised(greeting: Greeting) -> Dialect | None:
    """The installed dialect that recognises the greeting; None: none does.

    A broken one that nobody asked for is passed over.
    """
    for name in DIALECTS.names():
        try:
            dialect = DIALECTS.find(name)()
        except PluginError:
            continue
        if dialect.recognises(greeting):
            return dialect
    return None


async def learned(
    named: str | None, greeting: Greeting, introduction: Callable[[], Awaitable[Greeting]]
) -> Dialect:
    """As the file names it, or by the introduction; a damaged one is asked for again.

    Raises PluginError for a dialect that is not there.
    """
    if named is not None:
        return DIALECTS.find(named)()
    for _ in range(TRIES):
        dialect = recognised(greeting)
        if dialect is not None:
            return dialect
        greeting = await introduction()
    return DIALECTS.find(FALLBACK)()
