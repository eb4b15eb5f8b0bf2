"""Floods: ten thousand messages a second. No motion, no crash, memory bounded, refusals told.

The ordinary run keeps the rate and shortens the time; all ten seconds:
HOSTCTL_FLOOD_S=10 python -m pytest tests/messages/test_flood.py
"""

import asyncio
import gc
import os
from pathlib import Path

import pytest
from at_the_station import TREE, AtTheStation, Phone, prompt, running, until
from flood_source import packet, pour
from real_broker import RealBroker

from hostctl.channels.messages.arriving.limits import TOLD_AT_ONCE
from hostctl.config.host import Messages
from hostctl.news import AnswerRefused, HoldBegan, Word

pytestmark = [pytest.mark.broker, pytest.mark.slow]
FLOOD_S = float(os.environ.get("HOSTCTL_FLOOD_S", "0.5"))
MOST_MORE_MIB = 8


@pytest.fixture
def settings(broker: RealBroker) -> Messages:
    return Messages(broker="127.0.0.1", port=broker.port)


def resident_kib() -> int:
    return int(Path("/proc/self/status").read_text().split("VmRSS:")[1].split()[0])


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
    refused: list[AnswerRefused] = []
    at.station.desk.on_refusal.add(refused.append)
    at.station.desk.on_stop.add(lambda _: at.tell(HoldBegan(reason="asked for")))
    at.tell(running())
    messages = [packet(f"{TREE}/{name.decode()}", body) for name, body in FLOODS[flood]]
    await phone.client.unsubscribe("hostctl/#")  # it need not bear the flood too
    phone.seen.clear()
    gc.collect()
    before_kib = resident_kib()
    pouring = asyncio.ensure_future(pour(settings.port, messages, FLOOD_S))
    await until(lambda: len(refused) == TOLD_AT_ONCE)  # it has begun
    asked = at.ask(prompt("1-1")) if flood != "holds" else None
    await pouring
    more_kib = resident_kib() - before_kib
    phone.seen.clear()
    assert more_kib / 1024 < MOST_MORE_MIB
    assert asked is None or not asked.done()
    assert at.station.queued == 0
    last = at.ask(prompt("1-2")) if asked is None else asked
    prompt_id = "1-2" if asked is None else "1-1"
    while not last.done():  # the broker drops what finds its queue full
        await phone.answer({"prompt_id": prompt_id, "answer": "done"})
        await asyncio.wait({last}, timeout=0.5)
    assert last.result().word is Word.DONE
    assert (last.result().prompt_id, last.result().channel) == (prompt_id, "messages")
