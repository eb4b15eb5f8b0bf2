"""From a confirming message published to the next line on the wire, beside a raw client.

The same publisher and the same broker (mosquitto, QoS 1) for all; product and floors take turns,
round by round. The line goes to a pseudo-terminal; the time is taken from just before the message
is written to its socket until the line can be read. With `commit` a reading, with
the product the answer itself, is on the disk first.

raw client     a blocking socket and the least MQTT that will do, then os.write
library alone  aiomqtt, the line written in its callback: nothing is understood, checked or woken
plain library  aiomqtt as its manual shows it: `async for message in client.messages`
product        MessagesChannel, desk, (store,) link: everything between, JSON and ids included

Run: python tests/benchmarks/bench_confirm.py [rounds]
"""

import asyncio
import json
import multiprocessing
import os
import select
import socket
import statistics
import sys
import tempfile
import time
import tty
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "messages")]

import aiomqtt  # noqa: E402 - the paths above come first
from at_the_station import a_reading, a_run, place, running  # noqa: E402
from real_broker import real_broker  # noqa: E402

from hostctl.channels.messages.channel import MessagesChannel  # noqa: E402
from hostctl.channels.messages.connection.broker import NO_DELAY  # noqa: E402
from hostctl.channels.messages.connection.client_ids import ClientIds  # noqa: E402
from hostctl.config.host import Messages  # noqa: E402
from hostctl.deeds import SetGap  # noqa: E402
from hostctl.link.link import Link  # noqa: E402
from hostctl.link.port import PortSettings  # noqa: E402
from hostctl.link.serial_port import open_serial  # noqa: E402
from hostctl.news import Prompt  # noqa: E402
from hostctl.run.record.journal import Journal  # noqa: E402
from hostctl.run.station import Station  # noqa: E402
from hostctl.store.store import Store  # noqa: E402

CONFIRMS = 100
WARM_UP = 10
APART_S = 0.03  # a person is slower still; what the last answer set going is over
MACHINE = "workshop-220"
ANSWER = f"hostctl/{MACHINE}/answer"
LINE = b"N1234 G1 Z5.000 F300*100\n"
Times = list[float]


def publish_packet(payload: bytes, mid: int) -> bytes:
    """PUBLISH at QoS 1 (MQTT 3.1.1, 3.3)."""
    body = len(ANSWER).to_bytes(2, "big") + ANSWER.encode() + mid.to_bytes(2, "big") + payload
    assert len(body) < 16384
    return bytes([0x32, len(body) & 0x7F | 0x80, len(body) >> 7]) + body


def raw_connection(port: int, name: bytes) -> socket.socket:
    line = socket.create_connection(("127.0.0.1", port))
    line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    body = b"\x00\x04MQTT\x04\x02\x00\x3c" + len(name).to_bytes(2, "big") + name
    line.sendall(bytes([0x10, len(body)]) + body)
    line.recv(4)
    return line


class Machine:
    """The other end of the pseudo-terminal: answers `ok`, and tells when a line came."""

    def __init__(self) -> None:
        self.master, self._slave = os.openpty()
        tty.setraw(self._slave)
        self.path = os.ttyname(self._slave)

    def wait_for_line(self) -> int:
        """Gives when it could be read, ns."""
        data = os.read(self.master, 4096)
        at = time.perf_counter_ns()
        while not data.endswith(b"\n"):
            data += os.read(self.master, 4096)
        os.write(self.master, b"ok\n")
        return at

    def close(self) -> None:
        os.close(self.master)
        os.close(self._slave)


def confirm(line: socket.socket, number: int) -> int:
    """Publish one answer, once the last one's receipt is had; gives when, ns."""
    payload = json.dumps({"prompt_id": f"1-{number}", "answer": "done", "id": uuid4().hex})
    packet = publish_packet(payload.encode(), number)
    begun = time.perf_counter_ns()
    line.sendall(packet)
    line.recv(4)
    return begun


def confirm_often(port: int, machine: Machine, ready: "multiprocessing.synchronize.Event") -> Times:
    """Publish and wait for the line, over and over; gives microseconds each."""
    line = raw_connection(port, b"person")
    taken: Times = []
    while not ready.is_set():  # whatever is sent on the line until then is a greeting
        if select.select([machine.master], [], [], 0.01)[0]:
            data = os.read(machine.master, 4096)
            answers = data.count(b"\n")
            for _ in range(answers):
                os.write(
                    machine.master, b"FIRMWARE_NAME:peer\nok\n" if b"M115" in data else b"ok\n"
                )
    for number in range(1, CONFIRMS + WARM_UP + 1):
        time.sleep(APART_S)
        begun = confirm(line, number)
        while not select.select([machine.master], [], [], 2.0)[0]:
            begun = confirm(line, number)  # on a busy computer it came before its prompt
        taken.append((machine.wait_for_line() - begun) / 1000)
    line.close()
    return taken[WARM_UP:]


# ------------------------------------------------------------ floors


def raw_client(port: int, tty_path: str, ready: Callable[[], None], commit: bool) -> None:
    line = raw_connection(port, b"host")
    topic = ANSWER.encode()
    body = b"\x00\x01" + len(topic).to_bytes(2, "big") + topic + b"\x01"
    line.sendall(bytes([0x82, len(body)]) + body)
    line.recv(5)
    out = os.open(tty_path, os.O_RDWR | os.O_NOCTTY)
    with tempfile.TemporaryFile() as disk:
        os.pwrite(disk.fileno(), bytes(1 << 20), 0)
        os.fdatasync(disk.fileno())
        ready()
        for number in range(CONFIRMS + WARM_UP):
            packet = line.recv(4096)
            start = 1
            while packet[start] & 0x80:
                start += 1
            name_bytes = int.from_bytes(packet[start + 1 : start + 3], "big")
            mid = packet[start + 3 + name_bytes : start + 5 + name_bytes]
            if commit:
                os.pwrite(disk.fileno(), bytes(4096), number * 4096)
                os.fdatasync(disk.fileno())
            os.write(out, LINE)
            line.sendall(b"\x40\x02" + mid)
            os.read(out, 4096)
    os.close(out)
    line.close()


def library_alone(port: int, tty_path: str, ready: Callable[[], None], commit: bool) -> None:
    """Only without a commit: there is no task that could wait for one."""

    async def serve() -> None:
        out = os.open(tty_path, os.O_RDWR | os.O_NOCTTY)
        left = CONFIRMS + WARM_UP
        done = asyncio.Event()

        class WritesAtOnce(asyncio.Queue[aiomqtt.Message]):
            def put_nowait(self, item: aiomqtt.Message) -> None:
                nonlocal left
                left -= 1
                os.write(out, LINE)
                os.read(out, 4096)
                if not left:
                    done.set()

        async with aiomqtt.Client(
            "127.0.0.1", port, queue_type=WritesAtOnce, socket_options=[NO_DELAY]
        ) as client:
            await client.subscribe(ANSWER, qos=1)
            ready()
            await done.wait()
        os.close(out)

    asyncio.run(serve())


def plain_library(port: int, tty_path: str, ready: Callable[[], None], commit: bool) -> None:
    async def serve() -> None:
        out = os.open(tty_path, os.O_RDWR | os.O_NOCTTY)
        async with Store.opened(Path(tempfile.mkdtemp()) / "s.sqlite") as store:
            await store.add_run(a_run())
            async with aiomqtt.Client("127.0.0.1", port) as client:
                await client.subscribe(ANSWER, qos=1)
                ready()
                left = CONFIRMS + WARM_UP
                async for message in client.messages:
                    left -= 1
                    json.loads(message.payload)  # type: ignore[arg-type]
                    if commit:
                        await store.add_reading(a_reading(0.01, trial=CONFIRMS * 2 - left))
                    os.write(out, LINE)
                    os.read(out, 4096)
                    if not left:
                        break
        os.close(out)

    asyncio.run(serve())


# ------------------------------------------------------------ the product


def now() -> datetime:
    return datetime.now(UTC)


def prompt(number: int) -> Prompt:
    return Prompt(
        prompt_id=f"1-{number}",
        deed=SetGap(method="paper-slip"),
        text="Set the gap at front-left with the paper slip.",
        detail="",
        moves_next="The head lifts.",
        place=place(),
        opened_at=now(),
        resolution_mm=None,
    )


async def confirmed(station: Station, store: Store | None, link: Link) -> None:
    """As a run does: ask, keep the answer, then move, in one task; the next prompt after that."""
    journal = None if store is None else Journal(store, station.desk, now, 1)
    for number in range(1, CONFIRMS + WARM_UP + 1):
        await station.desk.ask(prompt(number), journal.keep_answer if journal else None)
        await link.do("G1 Z5.000 F300", deadline_s=5)


def product(port: int, tty_path: str, ready: Callable[[], None], commit: bool) -> None:
    async def serve() -> None:
        folder = Path(tempfile.mkdtemp())
        station = Station(MACHINE, now=now, studies=lambda: ["rig-check"])
        settings = Messages(broker="127.0.0.1", port=port)
        async with Store.opened(folder / "s.sqlite") as store:
            await store.add_run(a_run())
            outbox = await store.outbox(MACHINE, most_waiting=1000)
            said: list[str] = []
            ids = ClientIds(folder / "broker-ids", said.append)
            channel = MessagesChannel(
                station, settings, now=now, outbox=outbox, say=said.append, ids=ids
            )
            settings_of_line = PortSettings(baud=250_000)
            async with (
                asyncio.TaskGroup() as tasks,
                Link(tty_path, settings_of_line, open_port=open_serial).running() as link,
            ):
                serving = [tasks.create_task(each.serve()) for each in (channel, channel.urgent)]
                await link.connect()
                await asyncio.sleep(0.3)  # connected, all that is retained is told
                station.desk.tell(running())
                running_it = tasks.create_task(confirmed(station, store if commit else None, link))
                await asyncio.sleep(0)
                ready()
                await running_it
                for task in serving:
                    task.cancel()

    asyncio.run(serve())


Candidate = Callable[[int, str, Callable[[], None], bool], None]
CANDIDATES: dict[str, Candidate] = {
    "raw client": raw_client,
    "library alone": library_alone,
    "plain library": plain_library,
    "product": product,
}


def measure(candidate: Candidate, port: int, commit: bool) -> tuple[float, float]:
    """Median and 99th percentile, microseconds."""
    machine = Machine()
    ready = multiprocessing.Event()
    process = multiprocessing.Process(
        target=candidate, args=(port, machine.path, ready.set, commit), daemon=True
    )
    process.start()
    taken = sorted(confirm_often(port, machine, ready))
    process.join()
    machine.close()
    return taken[len(taken) // 2], taken[len(taken) * 99 // 100]


def main(rounds: int) -> None:
    results: dict[tuple[str, bool], list[tuple[float, float]]] = {}
    with tempfile.TemporaryDirectory() as folder, real_broker(Path(folder)) as broker:
        for _ in range(rounds):
            for name, candidate in CANDIDATES.items():
                for commit in (False, True) if candidate is not library_alone else (False,):
                    measured = measure(candidate, broker.port, commit)
                    results.setdefault((name, commit), []).append(measured)
    for commit, goal in ((False, "median <= 1.7, p99 <= 2"), (True, "median <= 1.8")):
        print(
            "commit to disk first" if commit else "no commit", f"(goal: {goal} of the raw client)"
        )
        floor = [
            statistics.median(column) for column in zip(*results["raw client", commit], strict=True)
        ]
        for name in [name for name in CANDIDATES if (name, commit) in results]:
            median, p99 = (
                statistics.median(column) for column in zip(*results[name, commit], strict=True)
            )
            print(
                f"  {name:14} median {median:6.0f} us ({median / floor[0]:.2f}x)"
                f"   p99 {p99:6.0f} us ({p99 / floor[1]:.2f}x)"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
