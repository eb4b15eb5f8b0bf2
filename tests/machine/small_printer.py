"""A small printer without bytes: the far side of `Line`, with its own idea of what is safe."""

import asyncio
import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from hostctl.errors import LinkError, ThermalFault
from hostctl.link.reply import Greeting, Reply
from hostctl.observers import Observers
from hostctl.protocol.events import (
    ErrorSaid,
    Event,
    FirmwareNamed,
    PositionReported,
    ProbeResult,
    TemperatureReported,
)

WORD = re.compile(r"([XYZFSP])(-?\d+(?:\.\d+)?)")


@dataclass(frozen=True)
class At:
    x: float
    y: float
    z: float


class SmallPrinter:
    """Does what it is told and remembers it. `moves` holds each position it was sent to."""

    def __init__(self, *, clear_z_mm: float = 10.0, firmware: str = "classic of the bench") -> None:
        self.on_fault: Observers[LinkError] = Observers()
        self.on_error: Observers[str, bool] = Observers()
        self.on_wait: Observers[str, float, float] = Observers()
        self.thermal_fault: ThermalFault | None = None
        self.commands: list[str] = []
        self.offences: list[str] = []
        self.hands_are_in: Callable[[], bool] = lambda: False
        self.before: Callable[[str], None] = lambda command: None
        self.at = At(77.0, 88.0, 3.0)
        self.homed = False
        self.up = False
        self.connections = 0
        self.nozzle_c = 21.0
        self.bed_c: float | None = 21.0
        self.nozzle_target_c = 0.0
        self.bed_target_c = 0.0
        self.diverted_mm = 0.0  # added to every z it is sent to
        self.damaged_nozzle_c: list[float | None] = []  # what its next reports say instead
        self.damaged_bed_c: list[float | None] = []
        self.touches_mm: list[float] = []
        self.lost_touches = 0
        self.deaf_to_homing = 0
        self.refuses: set[str] = set()
        self.mute: set[str] = set()  # answered by a bare ok
        self.of_its_card: list[Event] = []  # what it says to M27
        self._clear_z_mm = clear_z_mm
        self.introductions: list[str] = []  # what it says when asked again
        self._firmware = firmware
        self._why_down = "the line is not open yet"

    # ------------------------------------------------------------ what a line does

    async def connect(self, patience_s: float = 0.0) -> Greeting:
        if self.thermal_fault is not None:
            raise self.thermal_fault
        self.connections += 1
        self.up, self.homed = True, False
        return Greeting(firmware=self._firmware, capabilities={})

    async def do(
        self,
        command: str,
        *,
        deadline_s: float,
        heating: bool = False,
        usual_s: float | None = None,
    ) -> Reply:
        await asyncio.sleep(0)
        if self.up:
            self.before(command)
        if not self.up:
            raise LinkError("small printer", self._why_down, "Connect and home.")
        assert deadline_s > 0
        self.commands.append(command)
        return Reply(command=command, line=len(self.commands), events=self._obey(command))

    def halt(self) -> None:
        self.commands.append("M112")
        self.fail("halted")

    @property
    def simulated_indicator(self) -> None:
        return None

    def wire_text(self) -> str:
        return "\n".join(self.commands[-20:])

    def fail(self, why: str) -> None:
        """The line goes down: reset, unplugged, halted."""
        if self.up:
            self.up, self.homed, self._why_down = False, False, why
            self.on_fault.tell(LinkError("small printer", why, "Connect and home."))

    # ------------------------------------------------------------ what the printer does

    @property
    def moves(self) -> list[str]:
        return [command for command in self.commands if command.startswith(("G1", "G28", "G30"))]

    def _obey(self, command: str) -> tuple[Event, ...]:
        code = command.split(" ")[0]
        words = {letter: float(number) for letter, number in WORD.findall(command)}
        if code in self.refuses:
            return (ErrorSaid(text=f"no {code}"),)
        if code in ("G1", "G28", "G30"):
            self._note_hands(command)
        match code:
            case "G28":
                self._home()
            case "G92":
                here = {axis.lower(): place for axis, place in words.items() if axis in "XYZ"}
                self.at = replace(self.at, **here)
            case "G1":
                self._go(words)
            case "M140":
                self.bed_target_c = words["S"]
            case "M104":
                self.nozzle_target_c = words["S"]
            case "G4" if self.bed_target_c and self.bed_c is not None:
                self.bed_c = min(self.bed_c + 10.0, self.bed_target_c)
        return self._told(code, words)

    def _told(self, code: str, words: dict[str, float]) -> tuple[Event, ...]:
        if code in self.mute:
            return ()
        match code:
            case "M27":
                return tuple(self.of_its_card)
            case "G30" if self.lost_touches:
                self.lost_touches -= 1
            case "G30":
                return (ProbeResult(x_mm=words["X"], y_mm=words["Y"], z_mm=self.touches_mm.pop(0)),)
            case "M105":
                return (self._heat(),)
            case "M114":
                return (PositionReported(x_mm=self.at.x, y_mm=self.at.y, z_mm=self.at.z),)
            case "M115" if self.introductions:
                return (FirmwareNamed(text=self.introductions.pop(0)),)
        return ()

    def _home(self) -> None:
        if self.deaf_to_homing:
            self.deaf_to_homing -= 1
        else:
            self.at, self.homed = At(0.0, 0.0, 0.0), True

    def _note_hands(self, command: str) -> None:
        if self.hands_are_in():
            self.offences.append(f"{command} with hands in the machine")

    def _go(self, words: dict[str, float]) -> None:
        sideways = "X" in words or "Y" in words
        if sideways and not self.homed:
            self.offences.append("sideways while unhomed")
        if sideways and ("Z" in words or self.at.z < self._clear_z_mm - 0.02):
            self.offences.append(f"sideways at z {self.at.z}")
        if words["F"] / 60 > 1.0 and words.get("Z", 99.0) < min(self.at.z, 2.0):
            self.offences.append(f"fast down to z {words['Z']}")
        z = words["Z"] + self.diverted_mm if "Z" in words else self.at.z
        self.at = At(words.get("X", self.at.x), words.get("Y", self.at.y), z)

    def _heat(self) -> TemperatureReported:
        nozzle_c = self.damaged_nozzle_c.pop(0) if self.damaged_nozzle_c else self.nozzle_c
        bed_c = self.damaged_bed_c.pop(0) if self.damaged_bed_c else self.bed_c
        return TemperatureReported(
            nozzle_c=nozzle_c,
            nozzle_target_c=self.nozzle_target_c,
            bed_c=bed_c,
            bed_target_c=self.bed_target_c,
        )
