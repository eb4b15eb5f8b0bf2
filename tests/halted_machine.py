"""A machine of which a station needs only that it can be halted."""

from collections.abc import Callable


class HaltedMachine:
    """Tells who halted it."""

    def __init__(self, halted: Callable[[str], object], *, goes_out: bool = True) -> None:
        """`goes_out`: whether there is a line for a halt to go out on."""
        self.halt_went_out = goes_out
        self._halted = halted

    def halt(self, by: str) -> None:
        """Stop at once."""
        self._halted(by)
