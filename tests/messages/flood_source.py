"""Pours messages into a broker at a steady rate, from a process of its own.

Run: python flood_source.py PORT A_SECOND SECONDS PACKET… (each in hexadecimal)
"""

import asyncio
import socket
import sys
import time
from contextlib import suppress
from pathlib import Path

A_SECOND = 10_000
CONNECT = b"\x10\x11\x00\x04MQTT\x04\x02\x00\x3c\x00\x05flood"  # MQTT 3.1.1, 3.1
ANY_ID = b"\x00\x01"


def packet(topic: str, payload: bytes, qos: int = 0) -> bytes:
    """PUBLISH (MQTT 3.1.1, 3.3), short enough for one length byte."""
    name = topic.encode()
    body = len(name).to_bytes(2, "big") + name + (ANY_ID if qos else b"") + payload
    assert len(body) < 128
    return bytes([0x30 | qos << 1, len(body)]) + body


async def pour(port: int, packets: list[bytes], seconds: float) -> None:
    """Ten thousand a second, the packets in turn."""
    numbers = (str(port), str(A_SECOND), str(seconds))
    process = await asyncio.create_subprocess_exec(
        sys.executable, str(Path(__file__)), *numbers, *(packet.hex() for packet in packets)
    )
    try:
        assert await process.wait() == 0
    finally:
        if process.returncode is None:
            process.kill()
            await process.wait()


def _pour(port: int, a_second: int, seconds: float, packets: list[bytes]) -> None:
    with socket.create_connection(("127.0.0.1", port)) as line:
        line.sendall(CONNECT)
        line.recv(4)
        begun, poured = time.monotonic(), 0
        while poured < a_second * seconds:
            line.sendall(b"".join(packets[(poured + i) % len(packets)] for i in range(100)))
            with suppress(BlockingIOError):
                line.recv(65536, socket.MSG_DONTWAIT)  # its receipts
            poured += 100
            time.sleep(max(0.0, begun + poured / a_second - time.monotonic()))


if __name__ == "__main__":
    port, a_second, seconds, *in_hexadecimal = sys.argv[1:]
    _pour(int(port), int(a_second), float(seconds), [bytes.fromhex(one) for one in in_hexadecimal])
