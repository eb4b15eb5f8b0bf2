"""A port over a descriptor, on a real pair of sockets: nothing is lost, nothing stays behind."""

import asyncio
import os
import socket
from contextlib import suppress

import pytest

from hostctl.link.descriptor_port import DescriptorPort

MUCH = b"N1 M400*0\n" * 200_000  # more than any buffer takes at once


class Pair:
    """A port, and the socket at its other end."""

    def __init__(self) -> None:
        ours, self.theirs = socket.socketpair()
        ours.setblocking(False)
        self.theirs.setblocking(False)
        self.descriptor = ours.fileno()
        self.released = 0
        self.lost: list[str] = []
        self._ours = ours
        self.port = DescriptorPort("pair", self.descriptor, self._release)
        self.port.start(lambda data: None, self.lost.append)

    def _release(self) -> None:
        self.released += 1
        self._ours.close()

    async def heard(self, count: int) -> bytes:
        loop, parts, left = asyncio.get_running_loop(), list[bytes](), count
        while left > 0:
            parts.append(await loop.sock_recv(self.theirs, 65_536))
            left -= len(parts[-1])
        return b"".join(parts)


@pytest.mark.timeout(20)
async def test_what_the_first_write_could_not_take_is_sent_when_there_is_room() -> None:
    pair = Pair()
    pair.port.write(MUCH)
    pair.port.write(b"the end\n")
    assert await pair.heard(len(MUCH) + 8) == MUCH + b"the end\n"
    await pair.port.close()
    pair.theirs.close()


@pytest.mark.timeout(20)
async def test_once_all_is_sent_the_loop_is_not_woken_for_it_any_more() -> None:
    pair, loop = Pair(), asyncio.get_running_loop()
    pair.port.write(MUCH)
    await pair.heard(len(MUCH))
    await asyncio.sleep(0)
    await asyncio.sleep(0)
    assert not loop.remove_writer(pair.descriptor)
    await pair.port.close()
    pair.theirs.close()


@pytest.mark.timeout(20)
async def test_what_an_other_end_that_takes_nothing_could_not_take_is_sent_whole() -> None:
    pair, filled = Pair(), 0
    with suppress(BlockingIOError):
        while True:
            filled += os.write(pair.descriptor, MUCH)
    pair.port.write(b"N7 G28*22\n")
    heard = await pair.heard(filled + 10)
    assert heard[filled:] == b"N7 G28*22\n"
    await pair.port.close()
    pair.theirs.close()


@pytest.mark.timeout(20)
async def test_a_write_that_fails_is_told_though_nothing_is_heard_of_it() -> None:
    pair = Pair()
    pair.theirs.shutdown(socket.SHUT_RD)  # it hears no more, and says nothing
    pair.port.write(b"M400\n")
    assert pair.lost == []  # not while its caller is still at it
    await asyncio.sleep(0)
    assert pair.lost == ["the port has gone (Broken pipe)"]
    assert pair.released == 1
    pair.theirs.close()


@pytest.mark.parametrize("unsent", [b"", MUCH])
async def test_closed_it_leaves_nothing_in_the_loop_and_gives_the_descriptor_back_once(
    unsent: bytes,
) -> None:
    """A descriptor's number is soon another file's: a forgotten watch would write into that."""
    pair, loop = Pair(), asyncio.get_running_loop()
    pair.port.write(unsent)
    await pair.port.close()
    await pair.port.close()
    watched = (loop.remove_writer(pair.descriptor), loop.remove_reader(pair.descriptor))
    assert watched == (False, False)
    assert pair.released == 1
    pair.port.write(b"too late")  # goes nowhere
    assert pair.lost == []
    pair.theirs.close()


@pytest.mark.timeout(20)
async def test_an_other_end_that_closes_is_told_once_and_leaves_nothing_in_the_loop() -> None:
    pair, loop = Pair(), asyncio.get_running_loop()
    pair.port.write(MUCH)
    pair.theirs.close()
    while not pair.lost:  # noqa: ASYNC110 - the port tells of it by itself
        await asyncio.sleep(0)
    await asyncio.sleep(0)
    assert len(pair.lost) == 1
    watched = (loop.remove_writer(pair.descriptor), loop.remove_reader(pair.descriptor))
    assert watched == (False, False)
    assert pair.released == 1
