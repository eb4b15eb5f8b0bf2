"""How boards say things, the two dialects and an old board of the one: forms of the protocol page;
the words are our own.
"""

from dataclasses import dataclass
from typing import Protocol

from hostctl_simulators.bed.heater import Heater
from hostctl_simulators.physical.spot import Spot


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What a numbered acknowledgement tells: the line, and the free places."""

    line: int
    moves_free: int
    lines_free: int


class Wording(Protocol):
    """One dialect. Each method gives the lines to send, without their ends."""

    name: str
    refuses_outside: bool  # a move outside the travel is refused, not cut short
    idle_off_s: float  # resting motors are let go after so long; 0: never
    reports_on_ok: bool  # temperatures asked for ride on the `ok`
    acknowledges_resends: bool  # a resend request is followed by an `ok` of its own
    says_busy: bool  # says every now and then that it is still at work
    thinks_s: float  # so long it takes over each line

    def greeting(self, printer: str) -> list[str]: ...
    def firmware(self, printer: str) -> list[str]: ...
    def ok(self, room: Room, text: str = "") -> str: ...
    def resend(self, why: str, last: int) -> list[str]: ...
    def error(self, text: str) -> str: ...
    def info(self, text: str) -> str: ...
    def busy(self) -> str: ...
    def halted(self) -> str: ...
    def runaway(self) -> str: ...
    def stopped(self) -> str: ...
    def temperatures(self, nozzle: Heater, bed: Heater) -> str: ...
    def position(self, at: Spot, steps: tuple[int, int, int]) -> str: ...
    def probed(self, x_mm: float, y_mm: float, z_mm: float) -> str: ...
    def input(self, name: str, triggered: bool) -> str: ...


def _temperatures(nozzle: Heater, bed: Heater) -> str:
    return (
        f"T:{nozzle.now_c:.1f} /{nozzle.target_c:.1f} B:{bed.now_c:.1f} /{bed.target_c:.1f} "
        f"@:{nozzle.power} B@:{bed.power}"
    )


CAPABILITIES = ["Cap:EMERGENCY_PARSER:1", "Cap:SETTINGS_KEPT:0"]


class Classic:
    """Plain `ok`, `Resend: 7` followed by an `ok` of its own, `Error:`, `echo:`."""

    name = "classic"
    refuses_outside = False
    idle_off_s = 120.0
    reports_on_ok = True
    acknowledges_resends = True
    says_busy = True
    thinks_s = 0.0

    def greeting(self, printer: str) -> list[str]:
        return ["start", f"echo:workshop-sim greets from {printer}", "echo:no settings are stored"]

    def firmware(self, printer: str) -> list[str]:
        named = f"FIRMWARE_NAME:workshop-sim-classic 1.0 MACHINE_TYPE:{printer} EXTRUDER_COUNT:1"
        return [named, *CAPABILITIES]

    def ok(self, room: Room, text: str = "") -> str:
        return f"ok {text}" if text else "ok"

    def resend(self, why: str, last: int) -> list[str]:
        return [f"Error:{why}, last line: {last}", f"Resend: {last + 1}"]

    def error(self, text: str) -> str:
        return f"Error:{text}"

    def info(self, text: str) -> str:
        return f"echo:{text}"

    def busy(self) -> str:
        return "echo:busy: processing"

    def halted(self) -> str:
        return "Error:halted, nothing is done until the board is reset"

    def runaway(self) -> str:
        return "Error:thermal runaway, heater E0"

    def stopped(self) -> str:
        return "Error:stopped due to errors, M999 goes on"

    def temperatures(self, nozzle: Heater, bed: Heater) -> str:
        return _temperatures(nozzle, bed)

    def position(self, at: Spot, steps: tuple[int, int, int]) -> str:
        place = f"X:{at.x_mm:.2f} Y:{at.y_mm:.2f} Z:{at.z_mm:.2f} E:0.00"
        return f"{place} Count X:{steps[0]} Y:{steps[1]} Z:{steps[2]}"

    def probed(self, x_mm: float, y_mm: float, z_mm: float) -> str:
        return f"Bed X: {x_mm:.2f} Y: {y_mm:.2f} Z: {z_mm:.4f}"

    def input(self, name: str, triggered: bool) -> str:
        return f"{name}: {'TRIGGERED' if triggered else 'open'}"


class Terse:
    """Numbered `ok`, lower-case resend requests without one, `!!` errors, `//` information."""

    name = "terse"
    refuses_outside = True
    idle_off_s = 0.0
    reports_on_ok = False
    acknowledges_resends = False
    says_busy = True
    thinks_s = 0.0

    def greeting(self, printer: str) -> list[str]:
        return ["start", f"// workshop-sim on {printer} is ready"]

    def firmware(self, printer: str) -> list[str]:
        return [f"FIRMWARE_NAME:workshop-sim-terse 1.0 MACHINE_TYPE:{printer}", *CAPABILITIES]

    def ok(self, room: Room, text: str = "") -> str:
        told = f"ok N{room.line} P{room.moves_free} B{room.lines_free}"
        return f"{told} {text}" if text else told

    def resend(self, why: str, last: int) -> list[str]:
        return [f"// {why}, last line: {last}", f"rs N{last + 1}"]

    def error(self, text: str) -> str:
        return f"!! {text}"

    def info(self, text: str) -> str:
        return f"// {text}"

    def busy(self) -> str:
        return "busy: at work"

    def halted(self) -> str:
        return "!! halted, nothing is done until the board is reset"

    def runaway(self) -> str:
        return "!! heater E0 is not heating as it should"

    def stopped(self) -> str:
        return "!! stopped due to errors, M999 goes on"

    def temperatures(self, nozzle: Heater, bed: Heater) -> str:
        return _temperatures(nozzle, bed)

    def position(self, at: Spot, steps: tuple[int, int, int]) -> str:
        return f"X:{at.x_mm:.3f} Y:{at.y_mm:.3f} Z:{at.z_mm:.3f} E:0.000"

    def probed(self, x_mm: float, y_mm: float, z_mm: float) -> str:
        return f"// probe at {x_mm:.3f},{y_mm:.3f} is z={z_mm:.6f}"

    def input(self, name: str, triggered: bool) -> str:
        return f"{name}:{'triggered' if triggered else 'open'}"


class Unnamed(Terse):
    """A terse board that does not say so."""

    name = "unnamed"

    def firmware(self, printer: str) -> list[str]:
        return [f"FIRMWARE_NAME:workshop-sim 1.0 MACHINE_TYPE:{printer}", *CAPABILITIES]


class Old(Classic):
    """A slow 8-bit board of the classic family: no blanks between axes, no busy lines, and nothing
    known of capabilities.
    """

    name = "old"
    says_busy = False
    thinks_s = 0.02

    def greeting(self, printer: str) -> list[str]:
        return ["start", f"echo:{printer}", "echo:Last reset: opened"]

    def firmware(self, printer: str) -> list[str]:
        return [f"FIRMWARE_NAME:workshop-sim-old MACHINE_TYPE:{printer} EXTRUDER_COUNT:1"]

    def position(self, at: Spot, steps: tuple[int, int, int]) -> str:
        place = f"X:{at.x_mm:.2f}Y:{at.y_mm:.2f}Z:{at.z_mm:.2f}E:0.00"
        return f"{place} Count X: {steps[0]}Y:{steps[1]}Z:{steps[2]}"


WORDINGS: dict[str, Wording] = {
    wording.name: wording for wording in (Classic(), Terse(), Unnamed(), Old())
}
