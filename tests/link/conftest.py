"""The same tests on the in-memory port, whose time jumps, and on a real pseudo-terminal."""

import asyncio
import sys
from collections.abc import Awaitable, Callable, Coroutine, Iterator
from pathlib import Path
from typing import Any

import pytest

TESTS = Path(__file__).parent.parent
sys.path[:0] = [str(TESTS), str(TESTS / "protocol"), str(TESTS / "link")]

from jumping_loop import JumpingLoop  # noqa: E402 - found through the path set above
from peers import MemoryPeer, Peer, PtyPeer  # noqa: E402

Scenario = Callable[[Peer], Coroutine[Any, Any, None]]


async def _with_peer(kind: type[Peer], scenario: Callable[[Peer], Awaitable[None]]) -> None:
    peer = kind()
    try:
        await scenario(peer)
    finally:
        peer.unplug()
    leaked = asyncio.all_tasks() - {asyncio.current_task()}
    assert not leaked


@pytest.fixture(params=[MemoryPeer, PtyPeer], ids=["memory", "pty"])
def play(request: pytest.FixtureRequest) -> Iterator[Callable[[Scenario], None]]:
    """Runs a scenario against a peer of either kind."""
    factory = JumpingLoop if request.param is MemoryPeer else None
    with asyncio.Runner(loop_factory=factory) as runner:
        yield lambda scenario: runner.run(_with_peer(request.param, scenario))


@pytest.fixture
def play_in_memory() -> Iterator[Callable[[Scenario], None]]:
    """Runs a scenario against the in-memory peer alone: for what takes long."""
    with asyncio.Runner(loop_factory=JumpingLoop) as runner:
        yield lambda scenario: runner.run(_with_peer(MemoryPeer, scenario))


@pytest.fixture
def play_on_pty() -> Iterator[Callable[[Scenario], None]]:
    """Runs a scenario against a pseudo-terminal alone: for what only a real port has."""
    with asyncio.Runner() as runner:
        yield lambda scenario: runner.run(_with_peer(PtyPeer, scenario))
