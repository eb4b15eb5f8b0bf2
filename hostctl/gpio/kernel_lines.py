"""The GPIO library's boundary: a line to read and a lamp's, asked of the kernel."""

from collections.abc import Iterable, Sequence

import gpiod
from gpiod.line import Bias, Direction, Value
from gpiod.line import Edge as LineEdge

from hostctl.errors import ConfigError
from hostctl.gpio.lines import Edge, WantedLines


class KernelLines:
    """What was asked for. Raises ConfigError when it can't be had."""

    def __init__(self, wanted: WantedLines) -> None:
        self._line, self._lamp = wanted.line, wanted.lamp_line
        lines: dict[Iterable[int | str] | int | str, gpiod.LineSettings | None] = {
            self._line: gpiod.LineSettings(
                direction=Direction.INPUT,
                edge_detection=LineEdge.BOTH,
                bias=Bias.PULL_UP if wanted.closed_is_low else Bias.PULL_DOWN,
                active_low=wanted.closed_is_low,
            )
        }
        if self._lamp is not None:
            lines[self._lamp] = gpiod.LineSettings(direction=Direction.OUTPUT)
        try:
            self._request = gpiod.request_lines(wanted.chip, consumer="hostctl", config=lines)
        except (OSError, ValueError) as cause:
            raise ConfigError(
                f"{wanted.where}, {wanted.chip} line {self._line}",
                f"the line can't be had ({cause})",
                "Check the chip's name, the line's number, and that this user is in its group.",
            ) from cause
        self.fd: int = self._request.fd

    def closed(self) -> bool:
        """Whether the contact is closed now."""
        return self._request.get_value(self._line) is Value.ACTIVE

    def edges(self) -> Sequence[Edge]:
        """The edges that wait. Rising means closing: whichever level that is was asked for so."""
        return [
            Edge(
                closed=event.event_type is event.Type.RISING_EDGE,
                at_s=event.timestamp_ns / 1e9,
            )
            for event in self._request.read_edge_events()
        ]

    def lamp(self, *, lit: bool) -> None:
        """Light the lamp, or put it out; nothing where there is none."""
        if self._lamp is not None:
            self._request.set_value(self._lamp, Value.ACTIVE if lit else Value.INACTIVE)

    def release(self) -> None:
        """Give the lines back."""
        self._request.release()
