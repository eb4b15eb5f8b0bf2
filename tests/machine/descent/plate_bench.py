"""A small printer with a plate under its nozzle, which reports heights to two decimals."""

from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from typing import Any

from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter

from hostctl.config.parts.tie import Tie
from hostctl.machine.descent.bracket import Bracket
from hostctl.machine.descent.descent import Descent
from hostctl.machine.machine import Machine
from hostctl.news import Answer, Word
from hostctl.protocol.events import Event, PositionReported, Unrecognised

NOW = datetime(2031, 5, 6, 7, 8, 9, tzinfo=UTC)
WHERE = "machine 'bench'"
WORDS = {
    "by": "touch",
    "beyond_mm": 0.01,
    "contact": "input",
    "isolated": True,
    "input": "contact",
    "plate_mm": 0.5,
}


def tie(**changes: object) -> Tie:
    return Tie.model_validate(WORDS | changes, strict=False)


class PlatePrinter(SmallPrinter):
    """`plate_z_mm`: from here down the nozzle touches. `heights_mm`: where it stood, in order."""

    def __init__(self, plate_z_mm: float = 0.62, decimals: int = 2) -> None:
        super().__init__()
        self.plate_z_mm = plate_z_mm
        self.decimals = decimals
        self.heights_mm: list[float] = []
        self.false_reports_mm: list[float] = []  # what its next reports give for z instead
        self.deaf_to_moves = False

    @property
    def touches(self) -> bool:
        return self.at.z <= self.plate_z_mm

    def _go(self, words: dict[str, float]) -> None:
        if not self.deaf_to_moves:
            super()._go(words)
        self.heights_mm.append(self.at.z)

    def _told(self, code: str, words: dict[str, float]) -> tuple[Event, ...]:
        if code == "M119":
            word = "TRIGGERED" if self.touches else "open"
            return (Unrecognised(text="end z: open"), Unrecognised(text=f"contact: {word}"))
        if code == "M114":
            z = self.false_reports_mm.pop(0) if self.false_reports_mm else self.at.z
            z_mm = round(z, self.decimals)
            return (PositionReported(x_mm=self.at.x, y_mm=self.at.y, z_mm=z_mm),)
        return super()._told(code, words)


class PlateBench:
    """Homed, the nozzle at z 1 mm over the plate, blades tried: 0.3 goes under, 0.45 does not."""

    def __init__(
        self,
        printer: PlatePrinter | None = None,
        z_try_mm: float = 1.0,
        blades_mm: tuple[float, float] = (0.3, 0.45),
        machine: dict[str, Any] | None = None,
        **of_the_tie: object,
    ) -> None:
        self.printer = printer or PlatePrinter()
        self.machine = Machine(machine_file(**(machine or {})), self.printer)
        self.tie = tie(**of_the_tie)
        self.bracket = Bracket(
            where=WHERE, z_try_mm=z_try_mm, in_mm=blades_mm[0], out_mm=blades_mm[1]
        )
        self._prompts = 0
        in_jumping_time(self._ready())
        self.descent = self.machine.descent(self.bracket, self.tie)
        self.printer.commands.clear()
        self.printer.heights_mm.clear()

    async def _ready(self) -> None:
        await self.machine.connect()
        self.machine.permit.give()
        await self.machine.home()
        await self.machine.lower_to(self.bracket.z_try_mm)

    async def touches(self) -> bool:
        return self.printer.touches

    async def dark(self) -> bool:
        return False

    def says(self, choice: str | None, prompt_id: str | None = "") -> Answer:
        """An answer to a prompt of its own, unless it is named."""
        self._prompts += 1
        return Answer(
            prompt_id=f"1-{self._prompts}" if prompt_id == "" else prompt_id,
            word=Word.CHOSEN if choice else Word.DONE,
            choice=choice,
            channel="terminal",
            given_at=NOW,
        )

    async def step(
        self, closed: Callable[[], Awaitable[bool]] | None = None, descent: Descent | None = None
    ) -> float | None:
        """Look, and a step where there is no contact; None: there is."""
        descent = descent or self.descent
        proof = await descent.look(closed or self.touches)
        return None if proof is None else await descent.step(proof)

    async def to_contact(self, closed: Callable[[], Awaitable[bool]] | None = None) -> float:
        """Down until it is told; gives the height."""
        while await self.step(closed) is not None:
            pass
        return self.descent.z_mm
