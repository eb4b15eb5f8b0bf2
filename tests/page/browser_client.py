"""A browser as the server sees one: a cookie, the token from the stream, and posts."""

import json
import ssl
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime

import aiohttp

Told = tuple[str, str, dict]  # event, id, data


@dataclass
class Browser:
    """One browser at one server."""

    http: aiohttp.ClientSession
    url: str
    token: str = ""
    headers: dict[str, str] = field(default_factory=dict)

    async def enter(self) -> "Browser":
        """Open the page and take the token from the stream."""
        await self.get("/")
        async with self.live() as events:
            _, _, hello = await anext(events)
        self.token = hello["token"]
        return self

    async def get(self, path: str) -> aiohttp.ClientResponse:
        reply = await self.http.get(self.url + path, headers=self.headers)
        await reply.read()
        return reply

    @asynccontextmanager
    async def live(self, after: str = "") -> AsyncIterator[AsyncIterator[Told]]:
        headers = self.headers | ({"Last-Event-ID": after} if after else {})
        async with self.http.get(f"{self.url}/live", headers=headers) as reply:
            assert reply.status == 200, await reply.text()
            yield _events(reply)

    async def post(self, path: str, body: object, **headers: str) -> tuple[int, str]:
        """Status, and why it was refused."""
        given = {"Origin": self.url, "X-Hostctl-Token": self.token} | self.headers | headers
        if isinstance(body, bytes):
            sent: dict = {"data": body, "headers": {"Content-Type": "application/json"} | given}
        else:
            sent = {"json": body, "headers": given}
        async with self.http.post(self.url + path, **sent) as reply:
            try:
                told = await reply.json()
            except aiohttp.ContentTypeError:
                told = {}
            return reply.status, told.get("refused", "")

    async def answer(self, prompt_id: str, word: str = "done", **more: object) -> tuple[int, str]:
        said = {"machine": "sim-220", "prompt_id": prompt_id, "word": word}
        pressed_at = datetime.now(UTC).timestamp() * 1000
        return await self.post("/answer", said | {"pressed_at": pressed_at} | more)


async def _events(reply: aiohttp.ClientResponse) -> AsyncIterator[Told]:
    told: dict[str, str] = {}
    async for raw in reply.content:
        line = raw.decode().rstrip("\n")
        if line:
            name, _, value = line.partition(": ")
            told[name] = value
        else:
            yield told.get("event", ""), told.get("id", ""), json.loads(told["data"])
            told = {}


@asynccontextmanager
async def browser_at(
    url: str, trusting: ssl.SSLContext | bool = True, address: str = "127.0.0.1"
) -> AsyncIterator[Browser]:
    """A browser that has opened nothing yet, at an address of this computer's own network."""
    jar = aiohttp.CookieJar(unsafe=True)  # takes cookies from an address without a name
    wires = aiohttp.TCPConnector(ssl=trusting, local_addr=(address, 0))
    async with aiohttp.ClientSession(cookie_jar=jar, connector=wires) as http:
        yield Browser(http, url)
