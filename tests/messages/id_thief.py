"""Somebody at the broker who takes client ids, and takes them back again and again."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import aiomqtt


@asynccontextmanager
async def taken(port: int, *identifiers: str, **login: Any) -> AsyncIterator[None]:
    """Meanwhile these ids are somebody else's."""
    taking = [asyncio.ensure_future(_keep_taking(port, name, login)) for name in identifiers]
    try:
        yield
    finally:
        for task in taking:
            task.cancel()


async def _keep_taking(port: int, identifier: str, login: dict[str, Any]) -> None:
    while True:
        try:
            async with aiomqtt.Client("127.0.0.1", port, identifier=identifier, **login) as client:
                async for _ in client.messages:
                    pass
        except aiomqtt.MqttError:
            await asyncio.sleep(0.01)
