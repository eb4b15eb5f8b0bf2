"""The daemon with three machines connected: how soon it is ready, and what it costs when idle.

The machines are simulated in a process of their own, reached over TCP. Two floors, in turns with
the product: a program that only imports what the daemon has loaded when it is ready, and a trivial
daemon that imports the same, holds three connections and a database, and wakes once a second.

Run: python tests/benchmarks/bench_daemon.py [rounds [idle seconds [full]]]
With `full` the phone page is served and a real mosquitto is connected too, by either daemon once a
machine.
"""

import os
import shutil
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "messages")]

from kept_port import kept_port  # noqa: E402  # found by the path above, as the next is
from real_broker import real_broker  # noqa: E402

MACHINES = ("first", "second", "third")
GOALS = {"ready": 1.2, "cpu": 1.5, "memory": 1.25, "wake-ups": 1.5}

MODULES = """
import atexit, sys
def note():
    with open({out!r}, "w") as out:
        out.write("\\n".join(sys.modules))
atexit.register(note)
from hostctl.cli.main import main
sys.exit(main(["serve", "--config", {config!r}]))
"""
IMPORTS = """
import importlib, os, socket
for name in open({modules!r}).read().split():
    try:
        importlib.import_module(name)
    except ImportError:
        pass
def ready():
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as door:
        door.sendto(b"READY=1", os.environ["NOTIFY_SOCKET"])
"""
TRIVIAL = """
import asyncio, sqlite3
async def idle():
    database = sqlite3.connect({database!r})
    lines = [await asyncio.open_connection("127.0.0.1", port) for port in {ports!r}]
    for port in {brokers!r}:
        import aiomqtt
        await aiomqtt.Client("127.0.0.1", port, keepalive=10).__aenter__()
    ready()
    while True:
        await asyncio.sleep(1)
asyncio.run(idle())
"""


@contextmanager
def simulated(count: int) -> Iterator[list[int]]:
    """Printers on TCP ports."""
    printers = [
        subprocess.Popen(
            [
                sys.executable,
                "-m",
                "hostctl_simulators",
                "printer",
                "workshop-220",
                "--tcp",
                "127.0.0.1:0",
            ],
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        for _ in range(count)
    ]
    try:
        yield [int(printer.stdout.readline().rpartition(":")[2]) for printer in printers]
    finally:
        for printer in printers:
            printer.terminate()
            printer.communicate()


def write_directory(folder: Path, ports: list[int]) -> None:
    shutil.copytree(ROOT / "configs" / "studies", folder / "studies")
    (folder / "machines").mkdir()
    template = (ROOT / "configs" / "machines" / "sim-220.yaml").read_text()
    for name, port in zip(MACHINES, ports, strict=True):
        text = template.replace("machine: sim-220", f"machine: {name}")
        text = text.replace("sim://workshop-220?seed=7&speed=max", f"socket://127.0.0.1:{port}")
        (folder / "machines" / f"{name}.yaml").write_text(text)
    (folder / "host.yaml").write_text(f"machines: [{', '.join(MACHINES)}]\n")


class Bench:
    """What each process under test gets."""

    def __init__(self, folder: Path, ports: list[int]) -> None:
        self.folder, self.ports = folder, ports
        self.brokers: list[int] = []
        self.config = folder / "config"
        self.config.mkdir()
        write_directory(self.config, ports)
        self.modules = folder / "modules"
        self.door = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.door.bind(str(folder / "notify"))
        self.door.settimeout(60)
        self.env = {
            **os.environ,
            "NOTIFY_SOCKET": str(folder / "notify"),
            "WATCHDOG_USEC": "30000000",
            "RUNTIME_DIRECTORY": str(folder),
            "HOSTCTL_DATABASE": str(folder / "kept.sqlite"),
        }
        self.env.pop("WATCHDOG_PID", None)

    @contextmanager
    def started(self, program: list[str]) -> Iterator[tuple[subprocess.Popen[bytes], float]]:
        """The process, and after how many seconds it said that it is ready."""
        begun = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, *program], env=self.env, cwd=ROOT, stderr=subprocess.DEVNULL
        )
        while self.door.recv(4096) != b"READY=1":
            pass
        took_s = time.perf_counter() - begun
        try:
            yield process, took_s
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait()
            self.door.setblocking(False)
            try:
                while self.door.recv(4096):
                    pass
            except BlockingIOError:
                self.door.settimeout(60)

    def add_channels(self, broker_port: int) -> None:
        self.brokers = [broker_port] * len(MACHINES)
        host = self.config / "host.yaml"
        channels = (
            f"page: {{port: {kept_port()}}}\nmessages: {{broker: 127.0.0.1, port: {broker_port}}}\n"
        )
        host.write_text(host.read_text() + channels)

    def learn_modules(self) -> None:
        source = MODULES.format(out=str(self.modules), config=str(self.config))
        with self.started(["-c", source]):
            pass

    def product(self) -> list[str]:
        return ["-m", "hostctl", "serve", "--config", str(self.config)]

    def imports(self) -> list[str]:
        return ["-c", IMPORTS.format(modules=str(self.modules)) + "ready()\n"]

    def trivial(self) -> list[str]:
        database = str(self.folder / "trivial.sqlite")
        body = TRIVIAL.format(database=database, ports=self.ports, brokers=self.brokers)
        return ["-c", IMPORTS.format(modules=str(self.modules)) + body]


def cost_of(pid: int) -> tuple[int, int]:
    """CPU nanoseconds, and how often a thread of it went to sleep by itself."""
    cpu_ns = naps = 0
    for task in Path(f"/proc/{pid}/task").iterdir():
        cpu_ns += int((task / "schedstat").read_text().split()[0])
        status = (task / "status").read_text()
        naps += int(status.split("\nvoluntary_ctxt_switches:")[1].split()[0])
    return cpu_ns, naps


def memory_mib(pid: int) -> float:
    status = Path(f"/proc/{pid}/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def idle(bench: Bench, program: list[str], seconds: float) -> tuple[float, float, float]:
    """CPU percent, MiB, wake-ups a second."""
    with bench.started(program) as (process, _):
        time.sleep(4)  # until all is connected and quiet
        cpu_before, naps_before = cost_of(process.pid)
        time.sleep(seconds)
        cpu, naps = cost_of(process.pid)
        used = (cpu - cpu_before) / 1e9 / seconds * 100
        return used, memory_mib(process.pid), (naps - naps_before) / seconds


def ready(bench: Bench, program: list[str]) -> float:
    with bench.started(program) as (_, took_s):
        return took_s * 1000


def row(what: str, unit: str, floor: float, found: float, goal: float) -> None:
    ratio = f"{found / floor:6.2f}x  goal {goal}x"
    print(f"{what:12} floor {floor:8.2f}  daemon {found:8.2f} {unit:4} {ratio}")


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    idle_s = float(sys.argv[2]) if len(sys.argv) > 2 else 31.0
    with ExitStack() as until_the_end:
        ports = until_the_end.enter_context(simulated(len(MACHINES)))
        folder = Path(until_the_end.enter_context(tempfile.TemporaryDirectory(prefix="hc-")))
        bench = Bench(folder, ports)
        if "full" in sys.argv:
            broker = until_the_end.enter_context(real_broker(folder))
            bench.add_channels(broker.port)
        bench.learn_modules()
        pairs = [
            (ready(bench, bench.imports()), ready(bench, bench.product())) for _ in range(rounds)
        ]
        floor, found = (statistics.median(column) for column in zip(*pairs, strict=True))
        print(f"medians of {rounds} rounds, three machines connected")
        row("ready", "ms", floor, found, GOALS["ready"])
        idling = [
            (idle(bench, bench.trivial(), idle_s), idle(bench, bench.product(), idle_s))
            for _ in range(3)
        ]
        for index, (what, unit) in enumerate([("cpu", "%"), ("memory", "MiB")]):
            floor = statistics.median(trivial[index] for trivial, _ in idling)
            found = statistics.median(product[index] for _, product in idling)
            row(what, unit, floor, found, GOALS[what])
        naps = statistics.median(product[2] for _, product in idling)
        print(f"wake-ups     {naps:.2f} a second, goal at most {GOALS['wake-ups']}")


if __name__ == "__main__":
    main()
