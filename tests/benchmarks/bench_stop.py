"""HOLD and STOP while strangers do their worst: from a paired phone, and by message.

A real daemon, a real mosquitto, four simulated printers over TCP, each behind a relay that notes
when an order to halt passes. Two thousand connections of strangers from twenty addresses of this
computer (silent, dripping, asking, babbling; who is hung up on comes again) and a flood of messages
at `answer` and `command` of one machine. Meanwhile HOLD at a machine that asks, STOP at the others
in turn. The phone follows its stream all the while; it presses over the connection that the page
keeps open, and once more over a new one each time.

Taken: from the press until the daemon's reply (page). Done: until the machine is on hold, or until
M112 is on the wire. First without anybody in the way, for comparison.

Run: python tests/benchmarks/bench_stop.py [presses [connections [messages a second]]]
"""

import http.client
import json
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from select import select

import paho.mqtt.client as mqtt

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "tests" / name) for name in ("", "daemon", "messages", "page")]

from bench_soak import printer_on_tcp  # noqa: E402  # found by the path above, as the next are
from crowd_source import crowd_at  # noqa: E402
from daemon_process import Daemon  # noqa: E402
from flood_source import __file__ as flood_source  # noqa: E402
from flood_source import packet  # noqa: E402
from kept_port import kept_port  # noqa: E402
from real_broker import real_broker  # noqa: E402

from hostctl.channels.page.access.guards import COOKIE  # noqa: E402
from hostctl.channels.page.access.sessions import token_of  # noqa: E402
from hostctl.errors import DaemonError  # noqa: E402

GOAL_S = 1.0
ADDRESSES = 20
ASKS, *STOPPED = MACHINES = ("asks", "first", "second", "third", "fourth")
LONGEST_S = 480.0
GIVES_UP_S = 10.0
KEEP_OPEN_S = 20.0  # as the page does
APART_S = 0.1  # between two holds: over twenty in a second would count as a stop


class Wire:
    """Between the daemon and one printer; notes when an order to halt passes."""

    def __init__(self, printer_url: str) -> None:
        host, _, port = printer_url.removeprefix("socket://").rpartition(":")
        self._printer = (host, int(port))
        self._server = socket.create_server(("127.0.0.1", 0))
        self.url = f"socket://127.0.0.1:{self._server.getsockname()[1]}"
        self.halted_at = 0.0
        threading.Thread(target=self._relay, daemon=True).start()

    def _relay(self) -> None:
        while True:
            with (
                suppress(OSError),
                self._server.accept()[0] as host,
                socket.create_connection(self._printer) as printer,
            ):
                other = {host: printer, printer: host}
                while (ends := select([host, printer], [], [])[0]) and all(
                    self._pass_on(end, other[end], end is host) for end in ends
                ):
                    pass

    def _pass_on(self, end: socket.socket, other: socket.socket, from_daemon: bool) -> bool:
        data = end.recv(4096)
        if from_daemon and b"M112" in data:
            self.halted_at = time.monotonic()
        other.sendall(data)
        return bool(data)


class PairedPhone:
    """A browser with a session."""

    def __init__(self, daemon: Daemon, port: int) -> None:
        self._port = port
        code = str(daemon.ask("pair")["text"]).split("and type ")[1].split(" (")[0]
        pairing = http.client.HTTPConnection("127.0.0.1", port, timeout=GIVES_UP_S)
        reply = self._post(pairing, "/pair", {"code": code}, {})
        cookie = str(reply.getheader("Set-Cookie")).split(";")[0]
        token = token_of(cookie.removeprefix(f"{COOKIE}="))
        self._known = {"Cookie": cookie, "X-Hostctl-Token": token}
        self._open = http.client.HTTPConnection("127.0.0.1", port, timeout=GIVES_UP_S)
        self._one_at_a_time = threading.Lock()
        for act in (self._follow, self._keep_open):
            threading.Thread(target=act, daemon=True).start()

    def press(self, path: str, machine: str) -> None:
        """Over the connection that is kept open."""
        with self._one_at_a_time:
            self._posted(self._open, path, machine)

    def press_anew(self, path: str, machine: str) -> None:
        """Over a new connection."""
        line = http.client.HTTPConnection("127.0.0.1", self._port, timeout=GIVES_UP_S)
        self._posted(line, path, machine)
        line.close()

    def _posted(self, line: http.client.HTTPConnection, path: str, machine: str) -> None:
        reply = self._post(line, path, {"machine": machine}, self._known)
        why = reply.read()
        assert reply.status == 200, why

    def _post(
        self, line: http.client.HTTPConnection, path: str, body: object, more: dict[str, str]
    ) -> http.client.HTTPResponse:
        own = {"Content-Type": "application/json", "Origin": f"http://127.0.0.1:{self._port}"}
        line.request("POST", path, json.dumps(body), own | more)
        return line.getresponse()

    def _keep_open(self) -> None:
        while True:
            with self._one_at_a_time:
                self._open.request("HEAD", "/assets/icon.svg", headers=self._known)
                self._open.getresponse().read()
            time.sleep(KEEP_OPEN_S)

    def _follow(self) -> None:
        line = http.client.HTTPConnection("127.0.0.1", self._port)
        line.request("GET", "/live", headers=self._known)
        with line.getresponse() as stream:
            for _ in stream:
                pass
        print("the phone's stream ended")


class Sender:
    """Somebody who may send messages, connected all the while."""

    def __init__(self, port: int) -> None:
        self._client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2, client_id="somebody")
        self._client.connect("127.0.0.1", port)
        self._client.loop_start()

    def send(self, machine: str, topic: str, words: str) -> None:
        self._client.publish(f"hostctl/{machine}/{topic}", words, qos=1)


class Bench:
    """The daemon, its machines and whoever presses."""

    def __init__(self, daemon: Daemon, wires: dict[str, Wire], phone: PairedPhone, sender: Sender):
        self.daemon, self.wires, self.phone, self.sender = daemon, wires, phone, sender
        self.until_s = time.monotonic() + LONGEST_S

    def holds(self, presses: int, press: Callable[[str], None]) -> tuple[list[float], list[float]]:
        """At the machine that asks."""
        taken, done = [], []
        for _ in range(presses):
            if time.monotonic() > self.until_s:
                break
            self._until_asking()
            pressed = time.monotonic()
            press(ASKS)
            taken.append(time.monotonic() - pressed)
            done.append(wait_for(self._on_hold) - pressed)
        return taken, done

    def _until_asking(self) -> None:
        """For so long that no hold is on its way: in the flood a hold may come once more, late."""
        since = time.monotonic()
        while time.monotonic() < since + APART_S:
            if self._on_hold():
                self._go_on()
            if self.daemon.machine(ASKS)["standing"] != "asking":
                since = time.monotonic()
            time.sleep(0.01)

    def _on_hold(self) -> float:
        """When, as soon as it is; 0 until then."""
        asked = self.daemon.machine(ASKS)["standing"]
        return time.monotonic() if asked == "holding" else 0.0

    def _go_on(self) -> None:
        prompt = self.daemon.until(ASKS, lambda found: found["prompt"])["prompt"]
        assert isinstance(prompt, dict)
        with suppress(DaemonError):  # it was answered or withdrawn meanwhile
            self.daemon.ask("answer", machine=ASKS, text="done", prompt_id=prompt["prompt_id"])

    def stops(self, presses: int, press: Callable[[str], None]) -> tuple[list[float], list[float]]:
        """At the others in turn: each has to be reached again after it was halted."""
        taken, done = [], []
        for number in range(presses):
            if time.monotonic() > self.until_s:
                break
            machine = STOPPED[number % len(STOPPED)]
            wire = self.wires[machine]
            self.daemon.until(machine, lambda found: found["standing"] == "resting")
            wire.halted_at = 0.0
            pressed = time.monotonic()
            press(machine)
            taken.append(time.monotonic() - pressed)
            done.append(wait_for(lambda wire=wire: wire.halted_at) - pressed)
        return taken, done

    def report(self, presses: int) -> bool:
        """Each way measured and printed; gives whether the goal is met."""
        phone, anew, send = self.phone.press, self.phone.press_anew, self.sender.send
        ways: dict[str, Callable[[], tuple[list[float], list[float]]]] = {
            "HOLD, page": lambda: self.holds(presses, lambda one: phone("/hold", one)),
            "STOP, page": lambda: self.stops(presses, lambda one: phone("/halt", one)),
            "HOLD, page, new": lambda: self.holds(presses, lambda one: anew("/hold", one)),
            "STOP, page, new": lambda: self.stops(presses, lambda one: anew("/halt", one)),
            "STOP, message": lambda: self.stops(presses, lambda one: send(one, "stop", "stop")),
            "HOLD, message": lambda: self.holds(presses, lambda one: send(one, "hold", "hold")),
        }
        met = True
        for way, measured in ways.items():
            taken, done = measured()
            told = f"taken {shown(taken)}; " if "page" in way else ""
            print(f"  {way:15}  n = {len(done):3}  {told}done {shown(done)}", flush=True)
            met &= bool(done) and percentile(done, 99) <= GOAL_S
        return met


def wait_for(when: Callable[[], float]) -> float:
    """The time that is told, once it is; endless where it never comes within the patience."""
    end = time.monotonic() + GIVES_UP_S
    while not (told := when()):
        if time.monotonic() > end:
            return float("inf")
        time.sleep(0.0005)
    return told


def percentile(values: list[float], percent: int) -> float:
    """The smallest that at least so many percent do not exceed."""
    return sorted(values)[-(-len(values) * percent // 100) - 1]


def shown(values: list[float]) -> str:
    if not values:
        return "not measured: it took too long"
    middle, high = statistics.median(values), percentile(values, 99)
    return f"median {middle * 1000:.0f}, p99 {high * 1000:.0f}, most {max(values) * 1000:.0f} ms"


@contextmanager
def flood(port: int, a_second: int) -> Iterator[None]:
    words = [str(port), str(a_second), str(LONGEST_S)]
    packets = [packet(f"hostctl/{ASKS}/answer", b"?"), packet(f"hostctl/{ASKS}/command", b"{}")]
    command = [sys.executable, str(flood_source), *words, *(one.hex() for one in packets)]
    with subprocess.Popen(command) as source:
        try:
            yield
        finally:
            source.kill()


@contextmanager
def bench_at(port: int, folder: Path) -> Iterator[tuple[Bench, int]]:
    with ExitStack() as stack:
        broker = stack.enter_context(real_broker(folder))
        runtime = Path(tempfile.mkdtemp(prefix="hostctl-"))
        stack.callback(shutil.rmtree, runtime)
        daemon = Daemon(folder, runtime)
        stack.callback(daemon.close)
        wires = {name: Wire(stack.enter_context(printer_on_tcp())) for name in STOPPED}
        for name, wire in wires.items():
            daemon.write_machine(name, wire.url, like="sim-tri")
        daemon.write_machine(ASKS, "sim://workshop-220?seed=7")
        page = f"{{listen: 0.0.0.0, port: {port}}}"
        daemon.write_host(
            *MACHINES, page=page, messages=f"{{broker: 127.0.0.1, port: {broker.port}}}"
        )
        daemon.write_study(20)
        daemon.start()
        daemon.start_run(ASKS, study="small")
        daemon.answer_all(ASKS, 1)
        yield Bench(daemon, wires, PairedPhone(daemon, port), Sender(broker.port)), broker.port


def main() -> None:
    given = [int(word) for word in sys.argv[1:]]
    presses, connections, a_second = (*given, *(100, 2000, 10_000)[len(given) :])
    with tempfile.TemporaryDirectory() as folder:
        port = kept_port()
        with bench_at(port, Path(folder)) as (bench, broker_port):
            print("nobody in the way", flush=True)
            bench.report(max(10, presses // 5))
            print(f"{connections} connections from {ADDRESSES} addresses, {a_second} messages a s:")
            bench.until_s = time.monotonic() + LONGEST_S
            with (
                crowd_at(port, connections, ADDRESSES, LONGEST_S, processes=2),
                flood(broker_port, a_second),
            ):
                time.sleep(3)
                met = bench.report(presses)
            print(f"p99 within {GOAL_S:.0f} s: {'met' if met else 'NOT MET'}")


if __name__ == "__main__":
    main()
