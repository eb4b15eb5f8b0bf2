"""A USB key, number pad or presenter as a channel: keys are `done`, `hold`, or a typed reading.

No soldering and no library: the kernel's input device is read as bytes. The device is grabbed, so
that its Enter does not also reach a console. A button wired through the kernel's `gpio-keys` is
the same thing. What was typed before a prompt was shown is thrown away.
"""

import asyncio
import fcntl
import os
import struct
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from hostctl.channels.button.input_events import EventReader, KeyDown
from hostctl.channels.button.key_codes import DIGITS, ENTERS, ERASES, WORDS
from hostctl.config.host import Keys
from hostctl.deeds import TryBlade
from hostctl.news import Answer, PromptOpened, Word
from hostctl.run.desk import Desk

_GRAB = 0x40044590  # EVIOCGRAB, Linux UAPI input.h
_STAMP_BY = 0x400445A0  # EVIOCSCLOCKID, there too
_LOOK_AGAIN_S = 0.5
_MOST_DIGITS = 10


class KeysChannel:
    """One input device beside the machine."""

    name = "keys"

    def __init__(
        self,
        settings: Keys,
        *,
        say: Callable[[str], None] = lambda _: None,
        on_idle_press: Callable[[], None] | None = None,
    ) -> None:
        """`say`: where to say that the device came or went.

        on_idle_press: what Enter does while no run is going on (it arms).
        """
        self._settings = settings
        self._say = say
        self._on_idle_press = on_idle_press

    async def serve(self, desk: Desk) -> None:
        """Pass keys on until cancelled; a device that is pulled out is waited for."""
        typist = Typist(
            desk,
            self.name,
            in_graduations=self._settings.typed_in_graduations,
            on_idle_press=self._on_idle_press,
        )
        async with asyncio.TaskGroup() as group:
            group.create_task(typist.forget_at_each_prompt(), name="keys: news")
            said = ""
            while True:
                try:
                    await self._read_device(typist)
                except OSError as cause:
                    why = cause.strerror or str(cause)
                    if why != said:
                        self._say(f"{self._settings.device}: {why}; waiting for it")
                    said = why
                await asyncio.sleep(_LOOK_AGAIN_S)

    async def _read_device(self, typist: "Typist") -> None:
        """Read until the device goes, which is an OSError."""
        fd = os.open(self._settings.device, os.O_RDONLY | os.O_NONBLOCK)
        try:
            _grab(fd)
            typist.clock = _stamping_clock(fd)
            self._say(f"{self._settings.device}: listening")
            await _read_until_gone(fd, typist.key)
        finally:
            os.close(fd)


class Typist:
    """What has been typed since the prompt was shown, and what it comes to."""

    def __init__(
        self,
        desk: Desk,
        channel: str,
        *,
        in_graduations: bool,
        on_idle_press: Callable[[], None] | None = None,
    ) -> None:
        self._desk = desk
        self._channel = channel
        self._in_graduations = in_graduations
        self._on_idle_press = on_idle_press
        self._typed: list[tuple[str, KeyDown]] = []
        self.clock: Callable[[], float] = time.time
        """The one that stamps the keys, s."""

    async def forget_at_each_prompt(self) -> None:
        """Throw away what was typed before a prompt was shown."""
        async with self._desk.listening() as news:
            async for item in news:
                if isinstance(item, PromptOpened):
                    self._typed.clear()

    def key(self, key: KeyDown) -> None:
        """A key went down."""
        if key.code in DIGITS:
            if len(self._typed) < _MOST_DIGITS:
                self._typed.append((DIGITS[key.code], key))
        elif key.code in ERASES:
            del self._typed[-1:]
        elif key.code in ENTERS:
            self._enter(key)
        elif key.code in WORDS:
            self._answer(WORDS[key.code], key)

    def _enter(self, key: KeyDown) -> None:
        idle = self._desk.started is None and self._desk.open_prompt is None
        if not self._typed and idle and self._on_idle_press is not None:
            self._on_idle_press()
            return
        if not self._typed:
            self._answer(Word.DONE, key)
            return
        text, first = "".join(sign for sign, _ in self._typed), self._typed[0][1]
        try:
            value = float(text)
        except ValueError:
            self._typed.clear()  # "-.-" is no number: the prompt stays open, nothing is guessed
            return
        step_mm = self._graduation_mm()
        self._answer(Word.READING, first, value if step_mm is None else value * step_mm)

    def _graduation_mm(self) -> float | None:
        """What a number counts; None: it is in mm, as a blade's thickness always is."""
        prompt = self._desk.open_prompt
        if prompt is None or not self._in_graduations or isinstance(prompt.deed, TryBlade):
            return None
        return prompt.resolution_mm

    def _answer(self, word: Word, key: KeyDown, reading_mm: float | None = None) -> None:
        self._typed.clear()
        ago_s = max(0.0, self.clock() - key.at_s)
        self._desk.answer(
            Answer(
                prompt_id=None,
                word=word,
                reading_mm=reading_mm,
                channel=self._channel,
                given_at=datetime.now(UTC) - timedelta(seconds=ago_s),
                given_s=asyncio.get_running_loop().time() - ago_s,
            )
        )


def _grab(fd: int) -> None:
    try:
        fcntl.ioctl(fd, _GRAB, 1)
    except OSError:
        return  # not an input device (a pipe): there is no console to keep its keys from


def _stamping_clock(fd: int) -> Callable[[], float]:
    """Have keys stamped by the clock that nobody can set, where the device can."""
    try:
        fcntl.ioctl(fd, _STAMP_BY, struct.pack("i", time.CLOCK_MONOTONIC))
    except OSError:
        return time.time  # not an input device
    return time.monotonic


async def _read_until_gone(fd: int, act: Callable[[KeyDown], None]) -> None:
    loop = asyncio.get_running_loop()
    gone: asyncio.Future[None] = loop.create_future()
    reader = EventReader()

    def readable() -> None:
        try:
            data = os.read(fd, 4096)
        except BlockingIOError:
            return
        except OSError as cause:
            data, why = b"", cause
        else:
            why = OSError(0, "it was unplugged")
        for key in reader.feed(data):
            act(key)
        if not data and not gone.done():
            loop.remove_reader(fd)
            gone.set_exception(why)

    loop.add_reader(fd, readable)
    try:
        await gone
    finally:
        loop.remove_reader(fd)
