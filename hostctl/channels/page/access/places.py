"""Places for connections: so many, and who goes when they are full.

The oldest connection of the one who holds most goes first, so that a crowd, however large, takes
its places from itself.
"""

import ipaddress
from collections import Counter
from collections.abc import Iterator
from typing import Generic, TypeVar

T = TypeVar("T")


class Places(Generic[T]):
    """So many places, each held by somebody."""

    def __init__(self, most: int) -> None:
        self.most = most
        self._held: dict[T, str] = {}  # the oldest first

    def take(self, one: T, holder: str) -> T | None:
        """Give it a place; gives back whom it was taken from, if they were full."""
        gone = self.give_up() if len(self._held) >= self.most else None
        self._held[one] = holder
        return gone

    def give_up(self) -> T | None:
        """Whose place is taken first, if anybody has one; it is free then."""
        if not self._held:
            return None
        greediest = Counter(self._held.values()).most_common(1)[0][0]
        oldest = next(one for one, holder in self._held.items() if holder == greediest)
        del self._held[oldest]
        return oldest

    def leave(self, one: T) -> None:
        """Its place is free, if it had one."""
        self._held.pop(one, None)

    def __contains__(self, one: object) -> bool:
        return one in self._held

    def __iter__(self) -> Iterator[T]:
        """The oldest first."""
        return iter(self._held)


def origin(address: str) -> str:
    """The address as one sender's: of IPv6 the network, in which one sender has them all."""
    try:
        at = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(at, ipaddress.IPv4Address):
        return address
    mapped = at.ipv4_mapped
    return str(mapped or ipaddress.IPv6Network((at, 64), strict=False))
