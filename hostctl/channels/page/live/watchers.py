"""The phones that watch, by server-sent events: each gets every machine that changed.

While nothing changes there is a pulse. It tells a phone that the line is alive: without it, a dead
line looks like a calm machine.
"""

import asyncio
import json
from collections.abc import Callable
from datetime import datetime

from aiohttp import web

from hostctl.channels.page.access import guards
from hostctl.channels.page.live.latest import Latest
from hostctl.channels.view.data import Json

PULSE_S = 4.0
WRITE_WITHIN_S = 10.0
RETRY_MS = 1000
MOST = 32
LOOK_S = 1.0


class Watchers:
    """All open streams."""

    def __init__(self, latest: Latest, now: Callable[[], datetime]) -> None:
        self._latest = latest
        self._now = now
        self._count = 0
        self._some = asyncio.Event()

    async def look_while_watched(self, look: Callable[[], None]) -> None:
        """`look` every second while a phone watches, for what changes without news.

        While none does, nothing wakes up. Until cancelled.
        """
        while True:
            await self._some.wait()
            look()
            await asyncio.sleep(LOOK_S)

    async def serve(
        self, request: web.Request, hello: Json, is_known: Callable[[], bool]
    ) -> web.StreamResponse:
        """Send `hello`, then what changed after what the phone saw last.

        Until the phone goes away, or is not known any more.
        """
        if self._count >= MOST:
            return guards.refusal(503, "too many phones are watching")
        self._count += 1
        self._some.set()
        try:
            return await self._stream(request, hello, is_known)
        finally:
            self._count -= 1
            if not self._count:
                self._some.clear()

    async def _stream(
        self, request: web.Request, hello: Json, is_known: Callable[[], bool]
    ) -> web.StreamResponse:
        response = web.StreamResponse(headers={"Content-Type": "text/event-stream; charset=utf-8"})
        await response.prepare(request)
        seen = self._latest.number_of(_last_seen(request))
        try:
            begins = {**hello, "host": self._latest.mark}
            await self._send(response, f"retry: {RETRY_MS}\nevent: hello\n", begins)
            while is_known() and not self._latest.closed:
                for machine in self._latest.since(seen):
                    head = f"id: {self._latest.event_id(machine.number)}\nevent: station\n"
                    await self._send(response, head, machine.shown)
                    seen = machine.number
                await self._wait(response, seen)
        except (ConnectionError, TimeoutError):
            pass  # the phone went away, or reads nothing any more; it comes back by itself
        return response

    async def _wait(self, response: web.StreamResponse, seen: int) -> None:
        try:
            async with asyncio.timeout(PULSE_S):
                await self._latest.changed_after(seen)
        except TimeoutError:
            await self._send(response, "event: pulse\n", {})

    async def _send(self, response: web.StreamResponse, head: str, body: Json) -> None:
        """One event, with our clock in it."""
        told = {"now_ms": round(self._now().timestamp() * 1000), **body}
        data = json.dumps(told, ensure_ascii=False, separators=(",", ":"))
        async with asyncio.timeout(WRITE_WITHIN_S):
            await response.write(f"{head}data: {data}\n\n".encode())


def _last_seen(request: web.Request) -> str:
    """The browser's own header when it reconnects by itself, else what our script says."""
    return request.headers.get("Last-Event-ID") or request.query.get("after", "")
