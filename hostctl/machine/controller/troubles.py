"""What one controller complains of, beyond the answers to orders."""

from hostctl.errors import MachineError, ThermalFault
from hostctl.machine.controller.line import Line
from hostctl.machine.controller.orders import waits_in_words
from hostctl.observers import Observers


class Troubles:
    """The troubles of one machine, told as they come."""

    def __init__(self, line: Line) -> None:
        self.on_error: Observers[str] = Observers()
        """Told each error line of the controller, as it comes."""
        self.on_wait: Observers[str] = Observers()
        """Told, in words, what is waited for far longer than usual."""
        self.on_unasked: Observers[str] = Observers()
        """Told of an error that no order caused: whatever was believed is in doubt."""
        self._line = line
        self._removes = [line.on_error.add(self._error_said), line.on_wait.add(self._waits)]

    @property
    def thermal_fault(self) -> ThermalFault | None:
        """The thermal fault that nobody has looked at yet; while it is there nothing connects."""
        return self._line.thermal_fault

    def thermal_fault_was_looked_at(self) -> None:
        """A person at the machine said so, in answer to that question alone."""
        self._line.thermal_fault = None

    def let_go(self) -> None:
        """Hear the line no more."""
        for remove in self._removes:
            remove()

    def _error_said(self, text: str, unasked: bool) -> None:
        self.on_error.tell(text)
        if unasked:
            self.on_unasked.tell(text)

    def _waits(self, command: str, waited_s: float, usual_s: float) -> None:
        self.on_wait.tell(waits_in_words(command, waited_s, usual_s))


def unasked_error(where: str, text: str) -> MachineError:
    """An error that no order caused."""
    what = f"it told of an error that no order caused: {text}"
    return MachineError(where, what, "See what its own screen says.")
