"""Floods: ten thousand messages a second. No motion, no crash, memory bounded, refusals told.

The ordinary run keeps the rate and shortens the time; all ten seconds:
HOSTCTL_FLOOD_S=10 python -m pytest tests/messages/test_flood.py
"""

import asyncio
import gc
import os
import socket
import time
import tracemalloc

import pytest
from at_the_station import TREE, AtTheStation, Phone, prompt, running
from real_broker import RealBroker

from hostctl.config.host import Messages
from hostctl.records import HoldBegan, Word

pytestmark = [pytest.mark.broker, pytest.mark.slow]
A_SECOND = 10_000
FLOOD_S = float(os.environ.get("HOSTCTL_FLOOD_S", "0.5"))
MOST_MORE_MIB = 8


@pytest.fixture
def settings(broker: RealBroker) -> Messages:
    return Messages(broker="127.0.0.1", port=broker.port)


def packet(topic: str, payload: bytes) -> bytes:
    """PUBLISH at QoS 0 (MQTT 3.1.1, 3.3), short enough for one length byte."""
    name = topic.encode()
    body = len(name).to_bytes(2, "big") + name + payload
    assert len(body) < 128
    return bytes([0x30, len(body)]) + body


def pour(port: int, messages: list[bytes], seconds: float) -> int:
    """From a thread: all of `messages` over and over at the rate; gives how many."""
    with socket.create_connection(("127.0.0.1", port)) as line:
        line.sendall(b"\x10\x11\x00\x04MQTT\x04\x02\x00\x3c\x00\x05flood")
        line.recv(4)
        begun, poured = time.monotonic(), 0
        while poured < A_SECOND * seconds:
            batch = [messages[(poured + i) % len(messages)] for i in range(100)]
            line.sendall(b"".join(batch))
            poured += 100
            time.sleep(max(0.0, begun + poured / A_SECOND - time.monotonic()))
        line.sendall(packet(f"{TREE}/answer", b"the last one"))
        time.sleep(0.1)
    return poured


FLOODS = {
    "plain": [(b"answer", b"done"), (b"answer", b"0.02")],
    "old": [(b"answer", b'{"prompt_id":"0-1","answer":"done"}')],
    "broken": [(b"answer", b"[" * 90), (b"answer", b"\xff"), (b"command", b"{}"), (b"x", b"")],
    "starts": [(b"command", b"start rig-check")],
    "holds": [(b"answer", b"hold"), (b"command", b"hold")],
    "stops": [(b"command", b"stop")],
}


@pytest.mark.parametrize("flood", sorted(FLOODS))
async def test_a_flood_moves_nothing_and_leaves_nothing(
    at: AtTheStation, phone: Phone, settings: Messages, flood: str
):
    halts: list[str] = []
    at.station.on_halt(halts.append)
    at.station.desk.on_stop(lambda _: at.tell(HoldBegan(reason="asked for")))
    at.tell(running())
    asked = at.ask(prompt("1-1")) if flood not in ("holds",) else None
    messages = [packet(f"{TREE}/{name.decode()}", body) for name, body in FLOODS[flood]]
    await phone.client.unsubscribe("hostctl/#")  # it need not bear the flood too
    phone.seen.clear()
    gc.collect()
    tracemalloc.start()
    before, _ = tracemalloc.get_traced_memory()
    await asyncio.to_thread(pour, settings.port, messages, FLOOD_S)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    phone.seen.clear()
    assert (most - before) / 2**20 < MOST_MORE_MIB
    assert asked is None or not asked.done()
    assert at.station.queued == 0
    assert len(halts) <= FLOOD_S + 1
    last = at.ask(prompt("1-2")) if asked is None else asked
    prompt_id = "1-2" if asked is None else "1-1"
    while not last.done():  # the broker drops what finds its queue full
        await phone.answer({"prompt_id": prompt_id, "answer": "done"})
        await asyncio.wait({last}, timeout=0.5)
    assert last.result().word is Word.DONE
