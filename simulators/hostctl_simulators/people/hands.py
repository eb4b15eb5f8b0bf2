"""What a person can do and see at a printer, wherever the printer is simulated.

`World` is the one in this process. `RemoteHands` reaches a world in another process over a Unix
socket, one JSON object a line each way: `{"do": "turn_screw", "with": ["front-left", 90,
"clockwise"]}` is answered by `{"gives": null}` or `{"error": "…"}`.
"""

import asyncio
import json
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Protocol, cast

from hostctl_simulators.bed.screws import Direction
from hostctl_simulators.board.panel import Panel
from hostctl_simulators.people.bench import BENCH_DEEDS, Bench
from hostctl_simulators.physical.world import World

DEEDS = (
    "screw_names",
    "nearest_screw",
    "turn_screw",
    "raises_bed",
    "turn_as_asked",
    "gap_mm",
    "read_indicator",
    "zero_indicator",
    "press_send",
    "lay_block",
    "press_plunger",
    "lay_under_nozzle",
    "clip_lead",
    "leads_within",
    "leads_slack",
    "join_leads",
    "contact_closed",
    "clear_away",
    "free_probe",
    "move_door",
    "turn_bezel",
    "knock_indicator",
    "warm_room",
    "change_nozzle",
)
AT_THE_SCREEN = (
    "heat",
    "targets_c",
    "obeyed",
    "start_job",
    "end_job",
    "switch_to_inches",
    "pull_cable_at",
)


class Hands(Protocol):
    """A person's hands and eyes at the printer."""

    @property
    def seed(self) -> int: ...
    def screw_names(self) -> list[str]: ...
    def nearest_screw(self) -> str: ...
    def turn_screw(self, name: str, degrees: float, direction: Direction) -> None: ...
    def raises_bed(self, name: str) -> Direction: ...
    def turn_as_asked(self, name: str, degrees: float, direction: Direction) -> None: ...
    def gap_mm(self) -> float: ...
    def read_indicator(self) -> float: ...
    def zero_indicator(self) -> None: ...
    def press_send(self) -> None: ...
    def lay_block(self, thick_mm: float) -> None: ...
    def press_plunger(self) -> float: ...
    def lay_under_nozzle(self, thick_mm: float) -> None: ...
    def clip_lead(self) -> None: ...
    def leads_within(self) -> bool: ...
    def leads_slack(self) -> bool: ...
    def join_leads(self, joined: bool) -> None: ...
    def contact_closed(self) -> bool: ...
    def clear_away(self) -> None: ...
    def free_probe(self) -> None: ...
    def move_door(self, is_open: bool) -> None: ...
    def turn_bezel(self, more_mm: float) -> None: ...
    def knock_indicator(self, lower_mm: float) -> None: ...
    def warm_room(self, kelvin: float) -> None: ...
    def change_nozzle(self, longer_mm: float) -> None: ...


class RemoteHands:
    """Hands at a printer in another process. Raises OSError where the socket is gone."""

    def __init__(self, path: Path) -> None:
        self._socket = socket.socket(socket.AF_UNIX)
        try:
            self._socket.connect(str(path))
        except OSError:
            self._socket.close()
            raise
        self._lines = self._socket.makefile("rw", encoding="utf-8")
        self.seed = cast(int, self._ask("seed"))

    def close(self) -> None:
        """Let go."""
        self._lines.close()
        self._socket.close()

    def screw_names(self) -> list[str]:
        """See `World`."""
        return cast(list[str], self._ask("screw_names"))

    def nearest_screw(self) -> str:
        """See `World`."""
        return cast(str, self._ask("nearest_screw"))

    def turn_screw(self, name: str, degrees: float, direction: Direction) -> None:
        """See `World`."""
        self._ask("turn_screw", name, degrees, direction)

    def raises_bed(self, name: str) -> Direction:
        """See `World`."""
        return cast(Direction, self._ask("raises_bed", name))

    def turn_as_asked(self, name: str, degrees: float, direction: Direction) -> None:
        """See `World`."""
        self._ask("turn_as_asked", name, degrees, direction)

    def gap_mm(self) -> float:
        """See `World`."""
        return cast(float, self._ask("gap_mm"))

    def read_indicator(self) -> float:
        """See `World`."""
        return cast(float, self._ask("read_indicator"))

    def zero_indicator(self) -> None:
        """See `World`."""
        self._ask("zero_indicator")

    def press_send(self) -> None:
        """See `World`."""
        self._ask("press_send")

    def lay_block(self, thick_mm: float) -> None:
        """See `World`."""
        self._ask("lay_block", thick_mm)

    def press_plunger(self) -> float:
        """See `World`."""
        return cast(float, self._ask("press_plunger"))

    def lay_under_nozzle(self, thick_mm: float) -> None:
        """See `World`."""
        self._ask("lay_under_nozzle", thick_mm)

    def clip_lead(self) -> None:
        """See `World`."""
        self._ask("clip_lead")

    def leads_within(self) -> bool:
        """See `World`."""
        return cast(bool, self._ask("leads_within"))

    def leads_slack(self) -> bool:
        """See `World`."""
        return cast(bool, self._ask("leads_slack"))

    def join_leads(self, joined: bool) -> None:
        """See `World`."""
        self._ask("join_leads", joined)

    def contact_closed(self) -> bool:
        """See `World`."""
        return cast(bool, self._ask("contact_closed"))

    def clear_away(self) -> None:
        """See `World`."""
        self._ask("clear_away")

    def free_probe(self) -> None:
        """See `World`."""
        self._ask("free_probe")

    def move_door(self, is_open: bool) -> None:
        """See `World`."""
        self._ask("move_door", is_open)

    def turn_bezel(self, more_mm: float) -> None:
        """See `World`."""
        self._ask("turn_bezel", more_mm)

    def knock_indicator(self, lower_mm: float) -> None:
        """See `World`."""
        self._ask("knock_indicator", lower_mm)

    def warm_room(self, kelvin: float) -> None:
        """See `World`."""
        self._ask("warm_room", kelvin)

    def change_nozzle(self, longer_mm: float) -> None:
        """See `World`."""
        self._ask("change_nozzle", longer_mm)

    def _ask(self, deed: str, *given: object) -> object:
        self._lines.write(json.dumps({"do": deed, "with": given}) + "\n")
        self._lines.flush()
        answer = json.loads(self._lines.readline() or '{"error": "the printer is gone"}')
        if "error" in answer:
            raise LookupError(answer["error"])
        return answer["gives"]


@asynccontextmanager
async def serve_hands(world: World, path: Path, panel: Panel | None = None) -> AsyncIterator[None]:
    """Let other processes put their hands on `world`, and on its own screen, through a Unix socket
    at `path`.
    """
    bench = Bench(world)
    attending: dict[asyncio.Task[object] | None, asyncio.StreamWriter] = {}

    async def attend(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        attending[asyncio.current_task()] = writer
        try:
            while line := await reader.readline():
                writer.write(json.dumps(_do(world, bench, panel, line)).encode() + b"\n")
                await writer.drain()
        except ConnectionError:
            pass
        finally:
            del attending[asyncio.current_task()]
            writer.close()

    path.unlink(missing_ok=True)  # noqa: ASYNC240  # once, before anything runs
    server = await asyncio.start_unix_server(attend, path)
    try:
        yield
    finally:
        server.close()
        for writer in attending.values():
            writer.close()  # who attends then reads the end, and is waited for
        await asyncio.gather(*(task for task in attending if task is not None))


def _do(world: World, bench: Bench, panel: Panel | None, line: bytes) -> dict[str, object]:
    try:
        asked = json.loads(line)
        deed, given = asked["do"], asked.get("with", [])
        if deed == "seed":
            return {"gives": world.seed}
        if deed in AT_THE_SCREEN and panel is not None:
            return {"gives": getattr(panel, deed)(*given)}
        if deed in BENCH_DEEDS:
            return {"gives": getattr(bench, deed)(*given)}
        if deed not in DEEDS:
            return {"error": f"hands can't do '{deed}'"}
        return {"gives": getattr(world, deed)(*given)}
    except (ValueError, TypeError, LookupError) as cause:
        return {"error": str(cause)}
