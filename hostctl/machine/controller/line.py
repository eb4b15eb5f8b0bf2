"""The serial line as the machine sees it; `hostctl.link.Link` is one. Declared where it is used."""

from typing import Protocol

from hostctl.errors import LinkError, ThermalFault
from hostctl.link.port import SimulatedIndicator
from hostctl.link.reply import Greeting, Reply
from hostctl.observers import Observers


class Line(Protocol):
    """One line to one controller."""

    on_fault: Observers[LinkError]
    """Told once when the line goes down, whoever was or was not waiting for an answer."""

    @property
    def simulated_indicator(self) -> SimulatedIndicator | None:
        """The indicator at a simulated machine; None at a real one."""
        ...

    on_error: Observers[str, bool]
    """Told each error that is not about the line itself, and whether no order caused it."""

    on_wait: Observers[str, float, float]
    """Told of a command that takes twice its usual time: it, how long it has taken, what is usual,
    in seconds."""

    thermal_fault: ThermalFault | None
    """While it is there `connect` raises it, and nothing is opened, sent or reset."""

    async def connect(self, patience_s: float = 0.0) -> Greeting:
        """Open the line (again) and agree with the controller. Raises PortError or LinkError."""
        ...

    async def do(
        self,
        command: str,
        *,
        deadline_s: float,
        heating: bool = False,
        usual_s: float | None = None,
    ) -> Reply:
        """Have `command` executed once and give what came back. Raises LinkError."""
        ...

    def halt(self) -> None:
        """Stop the controller at once, ahead of everything."""
        ...

    def wire_text(self) -> str:
        """The last lines that went over the wire, both ways, with their times."""
        ...
