"""HOLD and STOP get through while strangers crowd the page and messages pour into the broker.

How soon is measured by `tests/benchmarks/bench_stop.py`, with ten times the crowd.
"""

import asyncio
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import aiomqtt
import pytest
from daemon_process import Daemon, Json

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "messages"), str(TESTS / "page")]

from browser_client import browser_at  # noqa: E402  # all by the path set above
from crowd_source import crowd_at  # noqa: E402
from flood_source import packet, pour  # noqa: E402
from kept_port import kept_port  # noqa: E402
from real_broker import RealBroker, real_broker  # noqa: E402

from hostctl.channels.page.access.connections import STRANGERS  # noqa: E402

CONNECTIONS, ADDRESSES, LONGEST_S = 200, 4, 60.0
POURS_S = 3.0


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[RealBroker]:
    with real_broker(tmp_path) as running:
        yield running


async def until(daemon: Daemon, holds: Callable[[Json], object]) -> None:
    await asyncio.to_thread(daemon.until, "bench", holds)


def crowded(daemon: Daemon) -> bool:
    assert daemon.process is not None
    return len(list(Path(f"/proc/{daemon.process.pid}/fd").iterdir())) > STRANGERS


@pytest.mark.slow
@pytest.mark.broker
async def test_hold_and_stop_get_through_a_crowd_and_a_flood(daemon: Daemon, broker: RealBroker):
    port = kept_port()
    daemon.write_host(
        "bench",
        page=f"{{listen: 0.0.0.0, port: {port}}}",
        messages=f"{{broker: 127.0.0.1, port: {broker.port}}}",
    )
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.answer_all("bench", 1)
    code = str(daemon.ask("pair")["text"]).split("and type ")[1].split(" (")[0]
    async with (
        browser_at(f"http://127.0.0.1:{port}") as browser,
        aiomqtt.Client("127.0.0.1", broker.port) as sender,
    ):
        assert (await browser.post("/pair", {"code": code}))[0] == 200
        await browser.enter()
        with crowd_at(port, CONNECTIONS, ADDRESSES, LONGEST_S):
            await until(daemon, lambda _: crowded(daemon))
            packets = [packet(f"hostctl/bench/{end}", b"done") for end in ("answer", "command")]
            pouring = asyncio.create_task(pour(broker.port, packets, POURS_S))
            assert await browser.post("/hold", {"machine": "bench"}) == (200, "")
            await until(daemon, lambda found: found["standing"] == "holding")
            assert await browser.post("/halt", {"machine": "bench"}) == (200, "")
            assert 'event=halted machine=bench by="phone page"' in daemon.log
            await sender.publish("hostctl/bench/stop", "stop", qos=1)
            await until(daemon, lambda _: "event=halted machine=bench by=messages" in daemon.log)
            await pouring
    assert daemon.end() == 0
