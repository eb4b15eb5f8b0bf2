"""Where the page is listened for: a few who come are taken in at a time, so that all get a turn.

To hang up on somebody costs next to nothing, so many more are: a queue that is full keeps phones
out for seconds. Nothing that goes wrong here is raised: it rests for a moment and goes on.
"""

import asyncio
import socket
from collections.abc import Callable, Iterable

TAKEN_A_TURN = 8  # of the event loop; fewer than the handles that are kept free
COMING_A_TURN = 256
RESTS_S = 0.1
BACKLOG = 4096  # waiting to be taken in, of which the kernel may take fewer

Place = tuple[socket.AddressFamily, tuple[object, ...]]
"""A family of addresses, and an address and port of it."""


class Listener:
    """Listens from its making on. Raises OSError when it can't."""

    def __init__(
        self,
        places: Iterable[Place],
        take_in: Callable[[socket.socket, str], bool],
        make_room: Callable[[], object],
    ) -> None:
        """take_in: given who has come, and its address; says whether it may stay.

        make_room: asked for where handles ran out.
        """
        self._loop = asyncio.get_running_loop()
        self._take_in = take_in
        self._make_room = make_room
        self._listening: list[socket.socket] = []
        try:
            self._listening.extend(_listening_at(*place) for place in places)
        except OSError:
            self.close()
            raise
        for each in self._listening:
            self._watch(each)

    def close(self) -> None:
        """Listen no more."""
        for each in self._listening:
            self._loop.remove_reader(each)
            each.close()
        self._listening.clear()

    def _watch(self, listening: socket.socket) -> None:
        if listening in self._listening:
            self._loop.add_reader(listening, self._come, listening)

    def _come(self, listening: socket.socket) -> None:
        taken = 0
        for _ in range(COMING_A_TURN):
            try:
                line, peer = listening.accept()
            except (BlockingIOError, InterruptedError):
                return
            except OSError:  # no handle is free, or the network is down
                self._loop.remove_reader(listening)
                self._loop.call_later(RESTS_S, self._watch, listening)
                self._make_room()
                return
            line.setblocking(False)
            taken += self._take_in(line, str(peer[0]))
            if taken == TAKEN_A_TURN:
                return


async def places_of(address: str, port: int) -> list[Place]:
    """Where to listen for `address`: a name may stand for several. Raises OSError."""
    found = await asyncio.get_running_loop().getaddrinfo(
        address or None, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
    )
    return list(dict.fromkeys((family, place) for family, _, _, _, place in found))


def _listening_at(family: socket.AddressFamily, place: tuple[object, ...]) -> socket.socket:
    listening = socket.socket(family, socket.SOCK_STREAM)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if family is socket.AF_INET6:
            listening.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        listening.setblocking(False)
        listening.bind(place)
        listening.listen(BACKLOG)
    except OSError:
        listening.close()
        raise
    return listening
