"""A push button on a GPIO line: short press `done`, long press `hold`, and a lamp that says
"waiting for you".

The line is asked of the kernel's character device, so any Linux computer will do.
"""

import asyncio
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from hostctl.channels.button.presses import Contact, Length, Press
from hostctl.config.host import Button as ButtonSettings
from hostctl.gpio.lines import GpioLines, WantedLines
from hostctl.gpio.opening import kernel_lines
from hostctl.news import Answer, Word
from hostctl.run.desk import Desk


class ButtonChannel:
    """A button beside the machine."""

    name = "button"

    def __init__(
        self,
        settings: ButtonSettings,
        *,
        now: Callable[[], datetime],
        open_lines: Callable[[ButtonSettings], GpioLines] | None = None,
        on_idle_press: Callable[[], None] | None = None,
    ) -> None:
        """`on_idle_press`: what a short press does while no run is going on (it arms)."""
        self._settings = settings
        self._now = now
        self._open_lines = open_lines or lines_of
        self._on_idle_press = on_idle_press

    async def serve(self, desk: Desk) -> None:
        """Pass presses on until cancelled. Raises ConfigError when the line can't be had."""
        lines = self._open_lines(self._settings)
        watch = _Watch(lines, self._contact(lines), lambda press: self._pressed(desk, press))
        try:
            async with desk.listening() as news:
                watch.start()
                lines.lamp(lit=desk.open_prompt is not None)
                async for _ in news:
                    lines.lamp(lit=desk.open_prompt is not None)
        finally:
            watch.stop()
            lines.lamp(lit=False)
            lines.release()

    def _contact(self, lines: GpioLines) -> Contact:
        loop = asyncio.get_running_loop()
        return Contact(
            debounce_s=self._settings.debounce_ms / 1000,
            long_press_s=self._settings.long_press_ms / 1000,
            closed_s=loop.time() if lines.closed() else None,
        )

    def _pressed(self, desk: Desk, press: Press) -> None:
        word = Word.HOLD if press.length is Length.LONG else Word.DONE
        idle = desk.started is None and desk.open_prompt is None
        if word is Word.DONE and idle and self._on_idle_press is not None:
            self._on_idle_press()
            return
        ago_s = asyncio.get_running_loop().time() - press.began_s
        given_at = self._now() - timedelta(seconds=ago_s)
        desk.answer(
            Answer(
                prompt_id=None,
                word=word,
                channel=self.name,
                given_at=given_at,
                given_s=press.began_s,
            )
        )


class _Watch:
    """Feeds a contact from the kernel's edges and from time passing, on the event loop."""

    def __init__(self, lines: GpioLines, contact: Contact, act: Callable[[Press], None]) -> None:
        self._lines = lines
        self._contact = contact
        self._act = act
        self._loop = asyncio.get_running_loop()
        self._timer: asyncio.TimerHandle | None = None

    def start(self) -> None:
        self._loop.add_reader(self._lines.fd, self._readable)

    def stop(self) -> None:
        self._loop.remove_reader(self._lines.fd)
        if self._timer is not None:
            self._timer.cancel()

    def _readable(self) -> None:
        for edge in self._lines.edges():
            self._tell(self._contact.edge(closed=edge.closed, at_s=edge.at_s))
        self._set_timer()

    def _due(self) -> None:
        self._tell(self._contact.tick(self._loop.time()))
        self._set_timer()

    def _set_timer(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        due_s = self._contact.due_s
        self._timer = None if due_s is None else self._loop.call_at(due_s, self._due)

    def _tell(self, presses: Sequence[Press]) -> None:
        for press in presses:
            self._act(press)


def lines_of(settings: ButtonSettings) -> GpioLines:
    """Ask the kernel for its lines. Raises ConfigError when the library or a line is missing."""
    return kernel_lines(
        WantedLines(
            where="host.yaml: buttons",
            chip=settings.chip,
            line=settings.line,
            closed_is_low=settings.pressed_is_low,
            lamp_line=settings.lamp_line,
            instead=", or wire the button as a gpio-keys device under `keys`",
        )
    )
