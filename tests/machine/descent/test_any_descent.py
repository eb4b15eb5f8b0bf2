"""Whatever is looked at, answered, forgotten or broken, in any order: what a descent never does."""

import asyncio
from collections.abc import Awaitable, Callable
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jumping_loop import in_jumping_time
from plate_bench import PlateBench, PlatePrinter

from hostctl.choices import DARK, LIT
from hostctl.deeds import TurnScrew, WatchLamp
from hostctl.errors import HostctlError, MachineError
from hostctl.machine.descent.descent import FINE_MM, NoContact

TURN = TurnScrew(screw="front-left", turn_deg=120, direction="clockwise")


class Careless:
    """Does as it is told by name, keeps every proof, and watches each move that goes down."""

    def __init__(self, plate_z_mm: float, start_mm: float) -> None:
        self.bench = PlateBench(PlatePrinter(plate_z_mm), z_try_mm=start_mm)
        self.proofs: list[NoContact] = []
        self.fresh = False
        """Whether a proof was got since the last move."""
        self.faults: list[str] = []
        self.bench.printer.before = self._watch

    def _watch(self, command: str) -> None:
        if not command.startswith("G1 Z") or not self.in_a_step:
            return
        bench, z_mm = self.bench, float(command.split(" ")[1][1:])
        fall_mm = bench.printer.at.z - z_mm
        longest_mm = 0.05 if z_mm >= bench.bracket.upper_z_mm else FINE_MM
        rules = {
            "too long": fall_mm > longest_mm + 1e-6,
            "below the floor": z_mm < bench.descent.floor_z_mm - 1e-6,
            "without its proof": fall_mm > 0 and not self.fresh,
            "without a permit": fall_mm > 0 and not bench.machine.permit.given,
            "with a heater on": fall_mm > 0 and bench.printer.nozzle_target_c > 0,
        }
        self.faults += [rule for rule, is_broken in rules.items() if is_broken]
        self.fresh = False

    in_a_step = True

    async def act(self, name: str) -> None:
        with suppress(HostctlError):
            await getattr(self, name)()

    async def _looked(self, closed: Callable[[], Awaitable[bool]]) -> None:
        proof = await self.bench.descent.look(closed)
        if proof is not None:
            self.proofs.append(proof)
            self.fresh = True

    async def look(self) -> None:
        await self._looked(self.bench.touches)

    async def look_with_contact_lost(self) -> None:
        await self._looked(self.bench.dark)

    async def look_that_bounces(self) -> None:
        async def bounces() -> bool:
            raise MachineError("contact", "it bounces", "See to it.")

        await self._looked(bounces)

    async def answer_dark(self) -> None:
        await self._answer(DARK)

    async def answer_lit(self) -> None:
        await self._answer(LIT)

    async def _answer(self, word: str) -> None:
        with self.bench.machine.permit.withdrawn_for(WatchLamp()):
            await asyncio.sleep(0)
        proof = self.bench.descent.told(self.bench.says(word))
        if proof is not None:
            self.proofs.append(proof)
            self.fresh = True

    async def step(self) -> None:
        if self.proofs:
            await self.bench.descent.step(self.proofs[-1])

    async def step_with_the_first_proof(self) -> None:
        if self.proofs:
            await self.bench.descent.step(self.proofs[0])

    async def step_with_a_forged_proof(self) -> None:
        await self.bench.descent.step(NoContact(self.bench.descent.z_mm))

    async def look_and_step(self) -> None:
        self.bench.machine.permit.give()
        await self.look()
        await self.step()

    async def lost_look_and_step(self) -> None:
        self.bench.machine.permit.give()
        await self.look_with_contact_lost()
        await self.step()

    async def up(self) -> None:
        await self.bench.descent.up()

    async def give_up(self) -> None:
        await self.bench.descent.give_up()

    async def permit(self) -> None:
        self.bench.machine.permit.give()

    async def forbid(self) -> None:
        self.bench.machine.permit.withdraw("hold was said")

    async def hands_in(self) -> None:
        with self.bench.machine.permit.withdrawn_for(TURN):
            self.bench.machine.permit.give()
            await self.step()

    async def heat(self) -> None:
        self.bench.printer.nozzle_target_c = 200.0

    async def reset(self) -> None:
        self.bench.printer.fail("reset")

    async def halt(self) -> None:
        self.bench.machine.halt("page")

    async def deaf(self) -> None:
        self.bench.printer.deaf_to_moves = not self.bench.printer.deaf_to_moves

    async def false_reports(self) -> None:
        self.bench.printer.false_reports_mm = [0.01, 9.0]

    async def home_and_come_back(self) -> None:
        """Another homing: the same descent is never of use again."""
        self.in_a_step = False
        try:
            await self.bench.machine.make_ready()
            self.bench.machine.permit.give()
            await self.bench.machine.home()
            await self.bench.machine.lower_to(1.0)
        finally:
            self.in_a_step = True
            self.fresh = False


ACTS = sorted(
    name for name in vars(Careless) if not name.startswith("_") and name not in ("act", "in_a_step")
)


@pytest.mark.slow
@given(
    plate_z_mm=st.sampled_from([0.62, 0.7, 0.55, -1.0, 0.9]),
    start_mm=st.sampled_from([1.0, 0.987, 0.7]),
    acts=st.lists(
        st.sampled_from([*ACTS, *["look_and_step"] * 8, *["lost_look_and_step"] * 16]), max_size=60
    ),
)
def test_no_order_of_acts_goes_too_far_down_or_moves_without_its_proof(plate_z_mm, start_mm, acts):
    careless = Careless(plate_z_mm, start_mm)

    async def all_of_them() -> None:
        for name in acts:
            await careless.act(name)

    in_jumping_time(all_of_them())
    assert careless.faults == []


def test_the_watch_would_see_each_of_them():
    """A watch that sees nothing proves nothing."""
    careless = Careless(0.62, 1.0)
    careless.bench.machine.permit.withdraw("a prompt is open")
    careless.bench.printer.nozzle_target_c = 200.0
    careless._watch("G1 Z0.2 F60")
    assert careless.faults == [
        "too long",
        "below the floor",
        "without its proof",
        "without a permit",
        "with a heater on",
    ]


def test_such_orders_do_reach_the_floor():
    careless = Careless(-1.0, 1.0)

    async def blindly_down() -> None:
        for _ in range(40):
            await careless.act("lost_look_and_step")

    in_jumping_time(blindly_down())
    assert min(careless.bench.printer.heights_mm) == careless.bench.descent.floor_z_mm
    assert careless.faults == []
