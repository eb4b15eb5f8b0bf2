"""A daemon as a user has it: a process of its own, driven by commands and signals."""

import os
import resource
import signal
import socket
import struct
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from hostctl.config.find import SHIPPED
from hostctl.daemon.socket.client import ask
from hostctl.errors import DaemonError

PATIENCE_S = 40.0
ENTER = 96
KEYS = dict(zip("0123456789-.", (82, 79, 80, 81, 75, 76, 77, 71, 72, 73, 74, 83), strict=True))
"""Codes of a number pad (Linux UAPI input-event-codes.h)."""
SMALL = """\
study: small
title: A small study
kind: comparison
methods:
  - {name: paper-slip, instruction: Turn the screw until the paper drags.}
operators: [volunteer-a]
points: [front-left]
trials: TRIALS
seed: 5
cycle: {settle_s: 0, countdown_s: 0}
"""
Json = dict[str, object]


class Daemon:
    """One directory, and the process that serves it."""

    def __init__(self, folder: Path, runtime: Path) -> None:
        self.folder, self.runtime = folder, runtime
        self.patience_s = PATIENCE_S
        self.handles: tuple[int, int] | None = None  # soft and hard limit of open files
        self.program = ["-m", "hostctl", "serve"]
        self.database = folder / "kept.sqlite"
        self.socket = runtime / "control.sock"
        self.log_path = folder / "log"
        self.process: subprocess.Popen[bytes] | None = None
        self.notices = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.notices.bind(str(runtime / "notify"))
        self.notices.settimeout(PATIENCE_S)
        self.env = {
            **os.environ,
            "HOSTCTL_DATABASE": str(self.database),
            "HOSTCTL_SOCKET": str(self.socket),
            "RUNTIME_DIRECTORY": str(runtime),
            "XDG_STATE_HOME": str(folder / "state"),
            "NOTIFY_SOCKET": str(runtime / "notify"),
        }
        for kind in ("machines", "studies"):
            (folder / kind).mkdir()
        self._pads: dict[str, int] = {}

    # ------------------------------------------------------------ its directory

    def write_host(self, *machines: str, **more: object) -> None:
        pads = "".join(f"  - {{machine: {m}, device: {self._pad(m)}}}\n" for m in machines)
        rest = "".join(f"{key}: {value}\n" for key, value in more.items())
        text = f"machines: [{', '.join(machines)}]\nkeys:\n{pads}{rest}"
        (self.folder / "host.yaml").write_text(text)

    def _pad(self, machine: str) -> Path:
        """The number pad beside a machine: a pipe."""
        path = self.folder / f"pad-{machine}"
        if machine not in self._pads:
            os.mkfifo(path)
            self._pads[machine] = os.open(path, os.O_RDWR | os.O_NONBLOCK)
        return path

    def write_machine(self, name: str, port: str, like: str = "sim-220") -> None:
        text = (SHIPPED / "machines" / f"{like}.yaml").read_text()
        swap = {"machine:": f"machine: {name}", "port:": f"port: {port}"}
        lines = [swap.get(line.split(" ")[0], line) for line in text.split("\n")]
        lines = ["dry_cycles: 1" if line.startswith("dry_cycles") else line for line in lines]
        (self.folder / "machines" / f"{name}.yaml").write_text("\n".join(lines))

    def write_study(self, trials: int, name: str = "small") -> None:
        text = SMALL.replace("TRIALS", str(trials)).replace("study: small", f"study: {name}")
        (self.folder / "studies" / f"{name}.yaml").write_text(text)

    # ------------------------------------------------------------ its process

    def start(self, terminal: int | None = None, **env: str) -> None:
        """Start it, its log in a file or on a terminal, and wait until it says that it is ready."""
        with self.log_path.open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, *self.program, "--config", str(self.folder)],
                stdin=subprocess.DEVNULL,
                stderr=log if terminal is None else terminal,
                env=self.env | env,
                cwd=self.folder,
                preexec_fn=self._limit_handles if self.handles else None,
            )
        self.told("READY=1")

    def _limit_handles(self) -> None:
        assert self.handles is not None
        resource.setrlimit(resource.RLIMIT_NOFILE, self.handles)

    def told(self, message: str) -> None:
        """Wait for what it tells the service manager."""
        while self.notices.recv(4096).decode() != message:
            pass

    def end(self, number: signal.Signals = signal.SIGTERM) -> int:
        """Signal it, and wait for its end; gives the exit code."""
        assert self.process is not None
        self.process.send_signal(number)
        return self.process.wait(PATIENCE_S)

    def close(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        self.notices.close()
        for pad in self._pads.values():
            os.close(pad)

    @property
    def log(self) -> str:
        return self.log_path.read_text()

    # ------------------------------------------------------------ asking it

    def cli(self, *words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "hostctl", *words],
            capture_output=True,
            text=True,
            env=self.env,
            timeout=PATIENCE_S,
            check=False,
        )

    def ask(self, what: str, **more: object) -> Json:
        """As the commands do, without a process for each."""
        return ask(str(self.socket), {"ask": what, **more})

    def machine(self, name: str) -> Json:
        machines = self.ask("status")["machines"]
        assert isinstance(machines, list)
        return next(machine for machine in machines if machine["machine"] == name)

    def until(self, name: str, holds: Callable[[Json], object]) -> Json:
        """Wait until something holds for a machine's status."""
        patience = time.monotonic() + self.patience_s
        while not holds(found := self.machine(name)):
            assert time.monotonic() < patience, f"{found}\n{self.log}"
            time.sleep(0.02)
        return found

    def type_keys(self, machine: str, text: str) -> None:
        """At the number pad beside the machine, now, with Enter at the end."""
        for code in [*(KEYS[sign] for sign in text), ENTER]:
            seconds, micros = divmod(time.time_ns() // 1000, 1_000_000)
            os.write(self._pads[machine], struct.pack("@llHHi", seconds, micros, 1, code, 1))

    def start_run(self, machine: str, **what: object) -> None:
        """Arm it at the machine, and start."""
        self.until(machine, lambda found: found["standing"] == "resting")
        self.type_keys(machine, "")
        self.until(machine, lambda found: found["armed"])
        self.ask("start", machine=machine, **what)

    def answer_all(self, machine: str, readings: int, text: str = "0.02") -> list[str]:
        """Answer each question until so many readings were given; gives the prompts' ids."""
        given, seen = 0, list[str]()
        while given < readings:
            prompt = self.until(machine, lambda found: found["prompt"])["prompt"]
            assert isinstance(prompt, dict)
            reads = prompt["kind"] == "read"
            try:
                answer = text if reads else "done"
                self.ask("answer", machine=machine, text=answer, prompt_id=prompt["prompt_id"])
            except DaemonError:
                continue  # it was closed meanwhile
            given += reads
            seen.append(str(prompt["prompt_id"]))
        return seen
