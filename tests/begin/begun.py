"""One machine begun by a newcomer, in this process and in virtual time; and what came of it."""

import tempfile
from dataclasses import dataclass, field
from datetime import date
from math import inf
from pathlib import Path

from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.world import World
from hostctl_simulators.registry import find_printer, find_world, forget_printers
from jumping_loop import in_jumping_time
from newcomer import Newcomer
from slips import How, Slip

from hostctl.begin.bench.bench import Bench
from hostctl.begin.bench.so_far import points_of, screws_of
from hostctl.begin.bench.way_down import nozzle_over
from hostctl.begin.facts import Facts
from hostctl.begin.lead import led
from hostctl.begin.notes import Notes
from hostctl.begin.talk import LeaveAsked
from hostctl.config.load import load_machine
from hostctl.daemon.assembly.parts import link_for
from hostctl.drafts.machine_file import machine_text
from hostctl.drafts.machine_questions import next_line_question, next_machine_question
from hostctl.errors import HostctlError

PRE_LOAD_MM = 0.5
HEIGHT_MM = PRE_LOAD_MM / 10
OFFSET_MM = 1.0
NEAREST_MM = 0.9  # the floor is 1 mm above where the bed may be; homing and axis take their part


@dataclass(slots=True, kw_only=True)
class Begun:
    """One first hour."""

    seed: int
    slip: Slip | None
    asked: list[str] = field(default_factory=list)
    ways: list[list[How]] = field(default_factory=list)
    """Of each question asked: what can go wrong there."""
    heard: list[str] = field(default_factory=list)
    facts: Facts = field(default_factory=Facts)
    nearest_mm: float = inf
    """The nozzle to the bed, whenever the head stood still."""
    mishaps: list[str] = field(default_factory=list)
    height_off_mm: float = inf
    offset_off_mm: float = inf
    wrong_ways: list[str] = field(default_factory=list)
    fault: str = ""
    """Why there was no end, or what the file's check says; empty: nothing."""

    @property
    def slipped_at(self) -> str:
        """The key of the question that was answered wrongly; empty: none was."""
        at = self.slip.at if self.slip else 0
        return self.asked[at - 1] if 0 < at <= len(self.asked) else ""

    @property
    def failings(self) -> list[str]:
        """What does not hold, in words."""
        far_off = not abs(self.height_off_mm) <= HEIGHT_MM
        return [
            *([f"no end: {self.fault}"] if self.fault else []),
            *(f"mishap: {each}" for each in self.mishaps),
            *([f"nozzle to {self.nearest_mm:.2f} mm"] if self.nearest_mm < NEAREST_MM else []),
            *([f"height off {self.height_off_mm:.3f} mm"] if not self.fault and far_off else []),
            *(
                [f"offset off {self.offset_off_mm:.2f} mm"]
                if not self.fault and not self.offset_off_mm <= OFFSET_MM
                else []
            ),
            *(f"wrong way: {each}" for each in self.wrong_ways),
        ]


def printer_of(seed: int) -> str:
    """A stranger; each fifth one finds z by the bed, with its probe, and stays there."""
    if seed % 5:
        return f"sim://stranger?seed={seed}"
    raises = "clockwise" if seed % 2 else "anticlockwise"
    return f"sim://workshop-tri?seed={seed}&unmounted=1&raises={raises}&tilt_mm=0.8"


def begun(seed: int, slip: Slip | None = None) -> Begun:
    """Lead a newcomer through it all at the printer of this seed."""
    forget_printers()
    url = printer_of(seed)
    world, found = find_world(url), Begun(seed=seed, slip=slip)
    world.attended = True
    _watch(world, found)
    person = Newcomer(world, url, slip)
    try:
        in_jumping_time(_through(person, found))
    except Exception as why:  # whatever ends it is a failing
        found.fault = f"{type(why).__name__}: {why}"
    found.asked, found.ways, found.heard = person.asked, person.ways, person.heard
    found.mishaps = [f"{crash.what}, {crash.depth_mm:.2f} mm" for crash in world.crashes]
    if not found.fault:
        _judge(found, world, person, find_printer(url).board.carriage.origin.z_mm)
    return found


async def _through(person: Newcomer, found: Begun) -> None:
    def keep(facts: Facts) -> None:
        found.facts = facts

    while True:
        bench = Bench(person, link_for)
        try:
            await led(
                person, bench, Notes(found.facts, keep), next_line_question, next_machine_question
            )
            return
        except LeaveAsked:
            found.heard = ["(left, and came again)"]
        finally:
            await bench.close()


def _watch(world: World, found: Begun) -> None:
    move = world.move_head

    def watched(to: Spot) -> None:
        move(to)
        if world.surface.is_bed(world.head.x_mm, world.head.y_mm):
            found.nearest_mm = min(found.nearest_mm, world.gap_mm())

    world.move_head = watched  # type: ignore[method-assign]


def _judge(found: Begun, world: World, person: Newcomer, origin_z_mm: float) -> None:
    """Held against what the machine is. origin_z_mm: where in the world it counts z from."""
    facts, kind = found.facts, world.kind
    assert kind.indicator is not None
    assert world.indicator is not None
    first = points_of(facts)[0]
    x_mm, y_mm = nozzle_over(facts, first)
    z_mm = facts.number("found.reading_z_mm") + origin_z_mm
    at = Spot(x_mm=x_mm, y_mm=y_mm, z_mm=z_mm)
    world.tips.return_error_mm, world.tips.rising = 0.0, False
    found.height_off_mm = world.tips.pressed_mm(at) - facts.number("found.pre_load_mm")
    found.offset_off_mm = max(
        abs(facts.number("found.offset_x_mm") - kind.indicator.offset_x_mm),
        abs(facts.number("found.offset_y_mm") - kind.indicator.offset_y_mm),
    )
    for screw in screws_of(facts):
        if screw.raises_bed.value != world.raises_bed(person.screw_called(screw.name)):
            found.wrong_ways.append(screw.name)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{facts.text('machine')}.yaml"
        path.write_text(machine_text(facts, date(2026, 11, 29)))
        try:
            load_machine(path)
        except HostctlError as why:
            found.fault = f"its file: {why}"
