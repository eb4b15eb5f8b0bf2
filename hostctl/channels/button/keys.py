"""A USB key, number pad or presenter as a channel: keys are `done`, `hold`, or a typed reading.

No soldering and no library: the kernel's input device is read as bytes. The device is grabbed, so
that its Enter does not also reach a console. A button wired through the kernel's `gpio-keys` is
the same thing. What was typed before a prompt was shown is thrown away.
"""

import asyncio
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from hostctl.channels.button.key_codes import ERASES, WORDS
from hostctl.config.host import Keys
from hostctl.deeds import TryBlade
from hostctl.input_events.device import open_device
from hostctl.input_events.events import KeyDown
from hostctl.input_events.keys import DIGITS, ENTERS
from hostctl.news import Answer, PromptOpened, Word
from hostctl.run.desk import Desk

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
        device = open_device(self._settings.device)
        gone: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        try:
            typist.clock = device.clock
            self._say(f"{self._settings.device}: listening")
            device.start(typist.key, gone.set_exception)
            await gone
        finally:
            device.close()


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
