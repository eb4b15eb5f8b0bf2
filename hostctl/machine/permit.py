"""The permit to move: nothing moves unless somebody just allowed it.

The run gives it after a fresh answer and takes it back whenever a prompt opens, a hold begins or
somebody says stop. It is looked at before every single move, so that a forgotten check elsewhere
can't move the machine while hands are in it.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from hostctl.deeds import Deed
from hostctl.errors import MachineError


class MotionForbidden(MachineError):
    """A move was due while motion was forbidden. Nothing was sent; the position is still known."""


class Permit:
    """Whether the machine may move now, and if not, why. It may not, to begin with."""

    def __init__(self, where: str) -> None:
        self._where = where
        self._forbidden: str | None = "nobody has allowed motion yet"
        self._hands_are_in = False
        self._may_rise = False

    @property
    def given(self) -> bool:
        """Whether motion is allowed now: nobody was asked anything since it was."""
        return self._forbidden is None

    def give(self) -> None:
        """Motion is allowed until further notice; in vain while hands are in the machine."""
        if not self._hands_are_in:
            self._forbidden = None

    def allow_rising(self) -> None:
        """The head may go straight up, and nothing else, until anything is withdrawn again."""
        self._may_rise = not self._hands_are_in

    def withdraw(self, why: str) -> None:
        """No move begins from now on."""
        self._forbidden, self._may_rise = why, False

    @contextmanager
    def withdrawn_for(self, deed: Deed) -> Iterator[None]:
        """While a prompt with this deed is open: no move begins, and it must be given anew after.

        Where the deed puts hands in the machine, nobody can give it meanwhile.
        """
        self.withdraw("a prompt is open")
        self._hands_are_in = deed.hands_in
        try:
            yield
        finally:
            self._hands_are_in = False

    def check(self) -> None:
        """Raises MotionForbidden unless motion is allowed."""
        if self._forbidden is not None:
            raise MotionForbidden(
                self._where, f"motion is not allowed: {self._forbidden}", "Answer the open prompt."
            )

    def check_rising(self) -> None:
        """Raises MotionForbidden unless the head may go straight up."""
        if not self._may_rise:
            self.check()


def halt_not_sent(where: str) -> MachineError:
    """Somebody told the machine to halt, and there was no line to tell it."""
    return MachineError(
        where, "it could not be told to halt: its line is down", "Switch it off at the mains."
    )
