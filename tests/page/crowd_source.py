"""A crowd of strangers at a port of this computer, from a process of its own.

Each comes from an address of 127.0.0.0/8, of four kinds in turn: says nothing; lets a header drip;
asks for the pairing page again and again; says nonsense. Who is hung up on comes again.

Run: python crowd_source.py PORT CONNECTIONS ADDRESSES FIRST_ADDRESS SECONDS
FIRST_ADDRESS: the last number of 127.0.0.x. Says how many came, at the end.
"""

import asyncio
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

AGAIN_S = 0.5
ASK = b"GET /pair HTTP/1.1\r\nHost: localhost\r\n\r\n"
Lines = tuple[asyncio.StreamReader, asyncio.StreamWriter]


@contextmanager
def crowd_at(
    port: int, connections: int, addresses: int, seconds: float, processes: int = 1
) -> Iterator[list["subprocess.Popen[str]"]]:
    """It comes, and is ended with the block if it has not gone by then."""
    each, sources = connections // processes, []
    for number in range(processes):
        first = 10 + number * (addresses // processes)
        words = (port, each, addresses // processes, first, seconds)
        command = [sys.executable, str(Path(__file__)), *map(str, words)]
        sources.append(subprocess.Popen(command, stdout=subprocess.PIPE, text=True))
    try:
        yield sources
    finally:
        for source in sources:
            source.kill()
            source.communicate()


async def _silent(lines: Lines) -> None:
    await lines[0].read(1)


async def _dripping(lines: Lines) -> None:
    lines[1].write(b"POST /halt HTTP/1.1\r\nHost: localhost\r\nX-Slow: ")
    while not lines[0].at_eof() and not lines[1].is_closing():
        lines[1].write(b"x")
        await lines[1].drain()
        await asyncio.sleep(1)


async def _asking(lines: Lines) -> None:
    while True:
        lines[1].write(ASK)
        if not await lines[0].read(65536):
            return


async def _babbling(lines: Lines) -> None:
    lines[1].write(b"\x16\x03\x01\x02\x00\x01\x00\xfc\r\n\r\n")
    while await lines[0].read(65536):
        pass


KINDS = (_silent, _dripping, _asking, _babbling)


class _Crowd:
    came = 0

    async def one(self, port: int, address: str, number: int) -> None:
        while True:
            with suppress(OSError):
                lines = await asyncio.open_connection("127.0.0.1", port, local_addr=(address, 0))
                self.came += 1
                try:
                    await KINDS[number % len(KINDS)](lines)
                finally:
                    lines[1].close()
            await asyncio.sleep(AGAIN_S)


async def _come(port: int, connections: int, addresses: int, first: int, seconds: float) -> int:
    crowd = _Crowd()
    strangers = [
        asyncio.create_task(crowd.one(port, f"127.0.0.{first + number % addresses}", number // 4))
        for number in range(connections)
    ]
    await asyncio.sleep(seconds)
    for stranger in strangers:
        stranger.cancel()
    await asyncio.gather(*strangers, return_exceptions=True)
    return crowd.came


if __name__ == "__main__":
    port, connections, addresses, first = map(int, sys.argv[1:5])
    print(asyncio.run(_come(port, connections, addresses, first, float(sys.argv[5]))))
