"""The real Chromium without a window, driven through its DevTools protocol.

Where Debian's build without any window of its own is installed, that one: the same engine, and a
phone opens in a third of the time.

Each `Phone` is a browser context of its own: its own cookies, storage, size and light.
"""

import asyncio
import base64
import itertools
import json
import os
import shutil
import subprocess
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic, sleep

import aiohttp
import pytest

FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run "
    "--disable-background-networking --disable-component-update --disable-sync "
    "--remote-debugging-port=0 --disable-dev-shm-usage --disable-extensions"
)
PATIENCE_S = 60.0  # only a page that is stuck comes near it


def chromium_or_skip() -> str:
    """Where it is; without it the test is skipped, or fails where real parts are required."""
    path = shutil.which("chromium-headless-shell") or shutil.which("chromium")
    if path is None:
        why = "chromium is not installed"
        if os.environ.get("HOSTCTL_REQUIRE_REAL_PARTS") == "1":
            pytest.fail(why)
        pytest.skip(why)
    return path


class Chromium:
    """One browser process."""

    def __init__(self, program: str, profile: Path) -> None:
        self._process = subprocess.Popen(
            [program, *FLAGS.split(), f"--user-data-dir={profile}", "about:blank"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        port, path = self._wait_for_port(profile / "DevToolsActivePort")
        self._url = f"ws://127.0.0.1:{port}{path}"

    def close(self) -> None:
        self._process.terminate()
        self._process.wait(PATIENCE_S)

    @asynccontextmanager
    async def phones(self) -> AsyncIterator["Phones"]:
        """The browser, talked to; what was opened is closed again."""
        async with (
            aiohttp.ClientSession() as session,
            session.ws_connect(self._url, max_msg_size=0) as wire,
        ):
            talk = Talk(wire)
            hearing = asyncio.create_task(talk.hear())
            phones = Phones(talk)
            try:
                yield phones
            finally:
                await phones.close()
                hearing.cancel()
                await asyncio.gather(hearing, return_exceptions=True)

    def _wait_for_port(self, file: Path) -> tuple[str, str]:
        until = monotonic() + PATIENCE_S
        while monotonic() < until:
            if file.exists() and len(lines := file.read_text().splitlines()) == 2:
                return lines[0], lines[1]
            sleep(0.05)
        pytest.fail("chromium did not start")


class Declined(AssertionError):
    """The browser would not, or its page went away meanwhile."""


class Talk:
    """Commands out, results and events in."""

    def __init__(self, wire: aiohttp.ClientWebSocketResponse) -> None:
        self._wire = wire
        self._numbers = itertools.count(1)
        self._open: dict[int, asyncio.Future[dict]] = {}
        self.events: list[dict] = []

    async def hear(self) -> None:
        async for message in self._wire:
            told = json.loads(message.data)
            if "id" in told:
                self._open.pop(told["id"]).set_result(told)
            else:
                self.events.append(told)

    async def do(self, method: str, session: str | None = None, **params: object) -> dict:
        number = next(self._numbers)
        answer = self._open[number] = asyncio.get_running_loop().create_future()
        order = {"id": number, "method": method, "params": params}
        await self._wire.send_json(order | ({"sessionId": session} if session else {}))
        told = await asyncio.wait_for(answer, PATIENCE_S)
        if "error" in told:
            raise Declined(f"{method}: {told['error']}")
        return told["result"]


@dataclass
class Phones:
    """Opens phones."""

    talk: Talk
    contexts: list[str] = field(default_factory=list)

    async def open(
        self, url: str, *, wide: int = 390, high: int = 844, dark: bool = False
    ) -> "Phone":
        """A phone of its own with this page on it."""
        context = (await self.talk.do("Target.createBrowserContext"))["browserContextId"]
        self.contexts.append(context)
        target = await self.talk.do(
            "Target.createTarget", url="about:blank", browserContextId=context
        )
        attached = await self.talk.do(
            "Target.attachToTarget", targetId=target["targetId"], flatten=True
        )
        phone = Phone(self.talk, attached["sessionId"])
        await phone.prepare(wide, high, dark=dark)
        await phone.go(url)
        return phone

    async def close(self) -> None:
        for context in self.contexts:
            await self.talk.do("Target.disposeBrowserContext", browserContextId=context)


@dataclass
class Phone:
    """One page on one phone, used as a person does: by what is on the screen."""

    talk: Talk
    session: str

    async def do(self, method: str, **params: object) -> dict:
        return await self.talk.do(method, self.session, **params)

    async def prepare(self, wide: int, high: int, *, dark: bool) -> None:
        for domain in ("Page", "Runtime", "Network", "Log", "Accessibility"):
            await self.do(f"{domain}.enable")
        await self.do(
            "Emulation.setDeviceMetricsOverride",
            width=wide,
            height=high,
            deviceScaleFactor=1,
            mobile=wide < 600,
        )
        light = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        await self.do("Emulation.setEmulatedMedia", features=[light])

    async def go(self, url: str) -> None:
        await self.do("Page.navigate", url=url)
        await self.until("document.readyState === 'complete' && location.href !== 'about:blank'")

    async def look(self, script: str) -> object:
        """What a script in the page gives."""
        told = await self.do(
            "Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in told, told["exceptionDetails"]
        return told["result"].get("value")

    async def until(self, script: str) -> None:
        """Wait until a script in the page gives true."""
        end = monotonic() + PATIENCE_S
        while not await self._holds(script):
            if monotonic() > end:
                seen = await self.look("document.body.innerText")
                pytest.fail(f"never came true: {script}\non the screen:\n{seen}")
            await asyncio.sleep(0.03)

    async def _holds(self, script: str) -> bool:
        try:
            told = await self.do("Runtime.evaluate", expression=script, returnByValue=True)
        except Declined:
            return False  # a page is being left
        return told["result"].get("value") is True  # false while a page is being loaded

    async def shows(self, text: str) -> None:
        """Wait until this text is to be seen."""
        await self.until(f"document.body.innerText.includes({json.dumps(text)})")

    async def text_of(self, selector: str) -> str:
        return str(await self.look(f"document.querySelector({json.dumps(selector)}).innerText"))

    async def press(self, selector: str) -> None:
        """Press what can be seen and pressed, with a finger or mouse in its middle."""
        found = f"document.querySelector({json.dumps(selector)})"
        await self.until(f"!!{found} && !{found}.disabled && {found}.offsetParent !== null")
        await self.look(f"{found}.scrollIntoView({{block: 'center'}})")
        box = await self.look(
            f"(() => {{ const b = {found}.getBoundingClientRect();"
            " return [b.x + b.width / 2, b.y + b.height / 2] })()"
        )
        assert isinstance(box, list)
        for kind in ("mousePressed", "mouseReleased"):
            await self.do(
                "Input.dispatchMouseEvent",
                type=kind,
                x=box[0],
                y=box[1],
                button="left",
                clickCount=1,
            )

    async def press_labelled(self, label: str) -> None:
        """Press the button that begins with these words."""
        await self.until(
            "(() => { const b = [...document.querySelectorAll('button')].find((b) =>"
            f" b.innerText.startsWith({json.dumps(label)}) && b.offsetParent !== null);"
            " b?.setAttribute('data-aim', ''); return !!b })()"
        )
        await self.press("button[data-aim]")
        await self.look("document.querySelector('[data-aim]')?.removeAttribute('data-aim')")

    async def key(self, key: str) -> None:
        """One key down and up."""
        text = {"Enter": "\r", "Tab": "", "Backspace": ""}.get(key, key)
        code = {"Enter": 13, "Tab": 9, "Backspace": 8}.get(key, ord(key[0].upper()))
        await self.do(
            "Input.dispatchKeyEvent",
            type="keyDown" if text else "rawKeyDown",
            key=key,
            text=text,
            windowsVirtualKeyCode=code,
        )
        await self.do("Input.dispatchKeyEvent", type="keyUp", key=key, windowsVirtualKeyCode=code)

    async def type(self, text: str) -> None:
        for sign in text:
            await self.key(sign)

    async def reload(self) -> None:
        await self.look("document.title = 'old'")
        await self.do("Page.reload")
        await self.until("document.title !== 'old' && document.readyState === 'complete'")

    async def screenshot(self) -> bytes:
        """The screen as PNG."""
        shot = await self.do("Page.captureScreenshot", format="png")
        return base64.b64decode(shot["data"])

    def complaints(self) -> list[str]:
        """What the browser logged as errors: scripts that failed, what the policy refused."""
        logged = [
            event["params"]
            for event in self.talk.events
            if event.get("sessionId") == self.session
            and event["method"] in ("Runtime.exceptionThrown", "Log.entryAdded")
        ]
        return [
            json.dumps(params)
            for params in logged
            if "exceptionDetails" in params or params["entry"]["level"] == "error"
        ]
