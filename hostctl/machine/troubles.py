"""What one controller complains of, beyond the answers to orders."""

from collections.abc import Callable

from hostctl.errors import MachineError, ThermalFault
from hostctl.machine.line import Line
from hostctl.machine.orders import waits_in_words


class Troubles:
    """The troubles of one machine, told as they come."""

    def __init__(self, line: Line, on_unasked: Callable[[str], None]) -> None:
        """on_unasked: told of an error that no order caused: whatever was believed is in doubt."""
        self.on_error: Callable[[str], None] | None = None
        """Told each error line of the controller, as it comes."""
        self.on_wait: Callable[[str], None] | None = None
        """Told, in words, what is waited for far longer than usual."""
        self._line = line
        self._on_unasked = on_unasked
        line.on_error = self._error_said
        line.on_wait = self._waits

    @property
    def thermal_fault(self) -> ThermalFault | None:
        """The thermal fault that nobody has looked at yet; while it is there nothing connects."""
        return self._line.thermal_fault

    def thermal_fault_was_looked_at(self) -> None:
        """A person at the machine said so, in answer to that question alone."""
        self._line.thermal_fault = None

    def _error_said(self, text: str, unasked: bool) -> None:
        if self.on_error is not None:
            self.on_error(text)
        if unasked:
            self._on_unasked(text)

    def _waits(self, command: str, waited_s: float, usual_s: float) -> None:
        if self.on_wait is not None:
            self.on_wait(waits_in_words(command, waited_s, usual_s))


def unasked_error(where: str, text: str) -> MachineError:
    """An error that no order caused."""
    what = f"it told of an error that no order caused: {text}"
    return MachineError(where, what, "See what its own screen says.")
