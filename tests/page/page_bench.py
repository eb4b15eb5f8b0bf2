"""The page's server with stations that a test stands at, on a free port of this computer."""

import asyncio
import itertools
import ssl
import subprocess
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from a_deed import A_DEED
from halted_machine import HaltedMachine
from kept_port import kept_port

from hostctl.channels.page.drafting import Workbench
from hostctl.channels.page.live.lately import Recent, nothing_on_record
from hostctl.channels.page.reports import ReportOf, no_report
from hostctl.channels.page.server import PageServer
from hostctl.config.host import Page
from hostctl.config.load import load_machine, study_from
from hostctl.config.machine import Machine
from hostctl.config.yaml_text import Source
from hostctl.news import Answer, Prompt, PromptKind, ReadingKept, RunFinished, RunStarted
from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.run.desk import Keep
from hostctl.run.station import Station

ROOT = Path(__file__).parents[2]
MACHINE = load_machine(ROOT / "configs/machines/sim-220.yaml")
STUDIES = ("rig-check", "three-methods")
PLANS = {name: study_from(Source.of(ROOT / f"configs/studies/{name}.yaml")) for name in STUDIES}


def now() -> datetime:
    return datetime.now(UTC)


def place(**changes: object) -> Place:
    given: dict[str, object] = {
        "run": 3,
        "block": 1,
        "round": 1,
        "trial": 1,
        "attempt": 1,
        "method": "paper-slip",
        "operator": "volunteer-a",
        "point": "front-left",
        "trials_done": 3,
        "trials_total": 60,
    }
    return Place(**(given | changes))  # type: ignore[arg-type]  # a table of keywords


@dataclass
class Bench:
    """One page server and who stands at its machines."""

    server: PageServer
    stations: dict[str, Station]
    url: str
    asked: itertools.count = field(default_factory=lambda: itertools.count(1))
    halted: list[str] = field(default_factory=list)

    @property
    def station(self) -> Station:
        return next(iter(self.stations.values()))

    def begin(self, trials_total: int = 60) -> None:
        self.station.desk.tell(
            RunStarted(
                run=3,
                study="three-methods",
                machine=self.station.name,
                trials_total=trials_total,
                resumed=False,
            )
        )

    async def ask(
        self, kind: PromptKind, text: str, keep: Keep | None = None, **changes: object
    ) -> Answer:
        given: dict[str, object] = {
            "prompt_id": f"3-{next(self.asked)}-a",
            "deed": A_DEED[kind],
            "text": text,
            "detail": "",
            "moves_next": "The head lifts.",
            "place": place(),
            "opened_at": now(),
            "resolution_mm": 0.01 if kind in (PromptKind.READ, PromptKind.ZERO) else None,
        }
        return await self.station.desk.ask(Prompt(**(given | changes)), keep)  # type: ignore[arg-type]  # a table of keywords

    def keep(self, value_mm: float, trial: int, **changes: object) -> None:
        self.station.desk.tell(
            ReadingKept(
                reading_id=trial,
                place=place(trial=trial, trials_done=trial, **changes),
                reading=Reading(
                    value_mm=value_mm,
                    resolution_mm=0.01,
                    taken_at=now(),
                    source="typed",
                    at=Position(x_mm=30, y_mm=30, z_mm=5),
                    temperatures=Temperatures(),
                ),
                relative_mm=value_mm,
                is_zero=trial == 0,
                channel="phone page",
            )
        )

    def finish(self) -> None:
        self.station.desk.tell(RunFinished(run=3, complete=True, reason="all trials are done"))


def certificate_in(folder: Path) -> tuple[Path, Path]:
    """A certificate of its own for localhost, and its key."""
    made = (folder / "page.crt", folder / "page.key")
    kind = "-x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2"
    names = "-subj /CN=localhost -addext subjectAltName=DNS:localhost,IP:127.0.0.1"
    files = ["-out", str(made[0]), "-keyout", str(made[1])]
    command = ["openssl", "req", *kind.split(), *names.split(), *files]
    subprocess.run(command, check=True, capture_output=True)
    made[1].chmod(0o600)
    return made


def station_called(name: str) -> Station:
    station = Station(name, now=now, studies=lambda: STUDIES)
    station.reachable = True
    return station


@asynccontextmanager
async def served(
    *names: str,
    listen: str = "127.0.0.1",
    recent: Recent = nothing_on_record,
    sessions_file: Path | None = None,
    machine: Machine = MACHINE,
    port: int | None = None,
    certificate: tuple[Path, Path] | None = None,
    clock: Callable[[], float] | None = None,
    report_of: ReportOf = no_report,
    drafts: Workbench | None = None,
) -> AsyncIterator[Bench]:
    """A server at work for stations of these names (one, sim-220, by default)."""
    stations = {name: station_called(name) for name in names or ("sim-220",)}
    port = port or kept_port()
    files = zip(("certificate_file", "key_file"), map(str, certificate or ()), strict=False)
    server = PageServer(
        stations,
        Page(listen=listen, port=port, **dict(files)),  # type: ignore[arg-type]  # two of its keys
        now=now,
        machines=dict.fromkeys(stations, machine),
        recent=recent,
        sessions_file=sessions_file,
        say=said_by_server.append,
        plans=lambda: PLANS,
        clock=clock,
        report_of=report_of,
        drafts=drafts,
    )
    bench = Bench(server, stations, f"{'https' if certificate else 'http'}://127.0.0.1:{port}")
    for station in stations.values():
        station.machine = HaltedMachine(bench.halted.append)
    serving = asyncio.create_task(server.serve())
    await until_up(port, serving, ssl._create_unverified_context() if certificate else None)
    try:
        yield bench
    finally:
        serving.cancel()
        await asyncio.gather(serving, return_exceptions=True)


said_by_server: list[str] = []


async def until_up(port: int, serving: asyncio.Task[None], tls: ssl.SSLContext | None) -> None:
    while not serving.done():
        try:
            _, writer = await asyncio.open_connection("127.0.0.1", port, ssl=tls)
        except OSError:
            await asyncio.sleep(0.01)
        else:
            writer.close()
            with suppress(OSError):
                await writer.wait_closed()
            return
    serving.result()
