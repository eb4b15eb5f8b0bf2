"""One printer, in the job's words.

Position is never assumed: the machine is unhomed until `home` and again after any fault, and each
move is closed by asking where the head is. Motion is forbidden until `permit.give()`. Motors are
never let go, since a head or gantry could sink.
"""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from hostctl.config.machine import Machine as MachineFile
from hostctl.config.machine import Probe
from hostctl.errors import HostctlError, LinkError, MachineError
from hostctl.link.port import SimulatedIndicator
from hostctl.link.reply import Greeting
from hostctl.machine.dialect import DIALECTS, FALLBACK, Dialect, recognised
from hostctl.machine.envelope import Envelope, Move
from hostctl.machine.heat import cool_for_hands, off_if_possible, warm_up
from hostctl.machine.homing import homed_position
from hostctl.machine.line import Line
from hostctl.machine.orders import Orders, end_of, printable
from hostctl.machine.permit import Permit
from hostctl.machine.position import far_apart_mm, shown
from hostctl.records import Position, Temperatures

TOUCH_S = 30.0
LOOKS = 3


class Machine:
    """One printer at the end of one line.

    Anything it raises of its own (MachineError) or of the line (LinkError) leaves it unhomed, but
    for orders refused before a byte was sent.
    """

    def __init__(self, config: MachineFile, line: Line) -> None:
        self.config = config
        self.envelope = Envelope(config)
        self.permit = Permit(f"machine '{config.machine}'")
        self.homed = False
        self.connected = False
        self.may_heat = False
        """Whether a heater was switched on from here and is not known to be off again."""
        self.halted_by: str | None = None
        """Who told it to halt since it was last connected, as given to `halt`; None: nobody."""
        self.on_fault: Callable[[HostctlError], None] | None = None
        self._line = line
        self._orders = Orders(config, line)
        self._dialect: Dialect | None = None
        self._at: Position | None = None
        line.on_fault = self._line_is_down

    # ------------------------------------------------------------ getting ready, and stopping

    async def connect(self, patience_s: float = 0.0) -> Greeting:
        """Open the line and learn the dialect. Nothing moves; the machine is unhomed.

        Raises PortError, LinkError, or PluginError for a dialect that is not there.
        """
        self._lose_position()
        self.connected = False
        self.halted_by = None
        greeting = await self._line.connect(patience_s)
        self.connected = True
        self._dialect = await self._learn_dialect(greeting)
        keep = self._dialect.keep_motors_on()
        if keep is not None:
            await self._orders.do(keep)
        return greeting

    async def home(self) -> None:
        """Find the reference position, beginning with a rise: what is below may be in the way.

        The rise is counted from wherever the head is, so there must be room above it.
        """
        self.permit.check()
        async with self._position_at_stake():
            self.homed = False
            self._at = await homed_position(self.config, self._orders, self._spoken())
            self.homed = True
        await self.lift()

    def halt(self, by: str) -> None:
        """Stop at once. Afterwards the board wants a reset. This is not an emergency stop.

        by: the channel it came by.
        """
        self.halted_by = by
        self.permit.withdraw("the machine was halted")
        self._lose_position()
        self._line.halt()

    async def make_safe(self) -> str | None:
        """Heaters off, no motion any more. Gives what went wrong in words, None when nothing."""
        self.permit.withdraw("the machine was left to rest")
        return await self.heaters_off_if_possible()

    async def heaters_off_if_possible(self) -> str | None:
        """Heaters off, or what went wrong in words. Never waits long, never fails."""
        return await off_if_possible(self)

    # ------------------------------------------------------------ motion

    async def lift(self) -> None:
        """Straight up to the clear height; nothing when the head is there or above."""
        await self._go(self.envelope.up(self._known(), self.config.clear_z_mm))

    async def go_over(self, x_mm: float, y_mm: float) -> None:
        """Across, at the clear height or above, until the nozzle is over `x_mm`, `y_mm`."""
        await self._go(self.envelope.across(x_mm, y_mm))

    async def lower_to(self, z_mm: float) -> None:
        """Straight down to `z_mm`, the last 2 mm slowly."""
        await self._go(self.envelope.down(self._known(), z_mm))

    async def park(self) -> None:
        """Up, and across to where the head waits when nothing is going on."""
        await self.lift()
        if self.config.park is not None:
            await self.go_over(self.config.park.x_mm, self.config.park.y_mm)

    async def settle(self, settle_s: float) -> None:
        """Stand still for `settle_s` seconds of the controller's own clock."""
        if settle_s > 0:
            async with self._position_at_stake():
                await self._orders.do(f"G4 P{settle_s * 1000:.0f}", takes_s=settle_s)
                await self._orders.do("M400", takes_s=settle_s)

    async def come_with_probe(self, x_mm: float, y_mm: float) -> None:
        """Bring the probe's tip over `x_mm`, `y_mm`; nothing moves when it is there."""
        probe, at = self._probe(), self._known()
        here = Position(x_mm=x_mm - probe.offset_x_mm, y_mm=y_mm - probe.offset_y_mm, z_mm=at.z_mm)
        if far_apart_mm(at, here) > self.config.position_tolerance_mm:
            await self.lift()
            await self.go_over(here.x_mm, here.y_mm)

    async def probe(self, x_mm: float, y_mm: float, lift_mm: float = 5.0) -> float:
        """Touch the bed with the probe's tip over `x_mm`, `y_mm`, then rise by `lift_mm`.

        Gives the height of the touch, mm. A controller that rises by itself is left where it is.
        Touching the same place again needs no way round by the clear height. A touch whose report
        was damaged on the way is done again.
        """
        probe, dialect = self._probe(), self._spoken()
        await self.come_with_probe(x_mm, y_mm)
        for _ in range(LOOKS):
            began_z_mm = self._known().z_mm
            height_mm = await self._touch(dialect, x_mm, y_mm)
            lifted_z_mm = min(began_z_mm, self._known().z_mm + lift_mm)
            await self._go(self.envelope.up(self._known(), lifted_z_mm))
            if height_mm is not None:
                break
        if height_mm is None or not height_mm >= probe.deepest_z_mm:
            said = "no height" if height_mm is None else f"{height_mm:g} mm, deeper than allowed"
            self._lose_position()
            raise MachineError(
                self._orders.where,
                f"the probe gave {said} at x {x_mm:g}, y {y_mm:g} mm",
                "See that the probe moves freely and its file is right, then home again.",
            )
        return height_mm

    # ------------------------------------------------------------ where, how warm

    async def where(self) -> Position:
        """Where the head is, asked now."""
        async with self._position_at_stake():
            return await self._orders.position()

    async def check_at(self, expected: Position, objection: str = "") -> Position:
        """Where the head is, which must be `expected`. objection: what the machine said before.

        Raises MachineError when it is elsewhere, and the machine is unhomed. A report may be
        damaged on the way, so a wrong one is asked for again before it is believed.
        """
        for _ in range(LOOKS):
            at = await self.where()
            if far_apart_mm(at, expected) <= self.config.position_tolerance_mm:
                return at
        self._lose_position()
        said = f"; it said: {objection}" if objection else ""
        raise MachineError(
            self._orders.where,
            f"the head is at {shown(at)}, not at {shown(expected)} as ordered{said}",
            "See what stopped or diverted it, then home it again.",
        )

    async def temperatures(self) -> Temperatures:
        """Nozzle and bed now, °C."""
        return await self._orders.temperatures()

    async def check_cool(self) -> Temperatures:
        """The temperatures, which must be safe for hands. Raises MachineError when they are not.

        A digit may be damaged on the way: too hot is believed unless two more reports deny it.
        """
        return await cool_for_hands(self)

    async def warm_bed(
        self, bed_c: float, soak_s: float, on_step: Callable[[Temperatures], None]
    ) -> None:
        """Warm the bed to `bed_c` and wait `soak_s` at temperature.

        on_step: told every 2 s how warm it is; what it raises ends the warming.
        Raises MachineError when it is not warm in time.
        """
        await warm_up(self, bed_c, soak_s, on_step)

    async def set_bed(self, bed_c: float) -> None:
        """Switch the bed's heater on, aiming at `bed_c`. Waits for nothing."""
        self.envelope.check_bed_target(bed_c)
        self.may_heat = True
        await self._orders.do(f"M140 S{bed_c:.0f}")

    async def heaters_off(self) -> None:
        """All heaters off."""
        await self._orders.do("M104 S0")
        await self._orders.do("M140 S0")
        self.may_heat = False

    # ------------------------------------------------------------ small signs to people

    async def message(self, text: str) -> None:
        """Show `text` on the machine's own screen, as far as it can show it."""
        await self._orders.do(f"M117 {printable(text)}".strip())

    async def beep(self) -> None:
        """A short tone."""
        await self._orders.do("M300")

    @property
    def simulated_indicator(self) -> SimulatedIndicator | None:
        """The indicator at a simulated machine; None at a real one."""
        return self._line.simulated_indicator

    def wire_text(self) -> str:
        """The last lines that went over the wire, for the record of a hold."""
        return self._line.wire_text()

    # ------------------------------------------------------------ inside

    async def _go(self, moves: list[Move]) -> None:
        for move in moves:
            self.permit.check()
            at = self._known()
            self.envelope.check(move, at)
            async with self._position_at_stake():
                objection = await self._orders.move(move, at)
                self._at = await self.check_at(end_of(move, at), objection)

    async def _learn_dialect(self, greeting: Greeting) -> Dialect:
        """As the file says, or by its introduction; a damaged one is asked for again."""
        if self.config.dialect is not None:
            return DIALECTS.find(self.config.dialect)()
        for _ in range(LOOKS):
            dialect = recognised(greeting)
            if dialect is not None:
                return dialect
            greeting = Greeting.of(await self._orders.do("M115"))
        return DIALECTS.find(FALLBACK)()

    def _spoken(self) -> Dialect:
        if self._dialect is None:
            raise MachineError(self._orders.where, "it is not connected", "Connect it first.")
        return self._dialect

    def _probe(self) -> Probe:
        if self.config.probe is None:
            raise MachineError(self._orders.where, "it has no probe", "Add 'probe:' to its file.")
        return self.config.probe

    async def _touch(self, dialect: Dialect, x_mm: float, y_mm: float) -> float | None:
        self.permit.check()
        at = self._known()
        self.envelope.check_spot(at.x_mm, at.y_mm)
        async with self._position_at_stake():
            reply = await self._orders.do(dialect.probe(x_mm, y_mm), takes_s=TOUCH_S)
            await self._orders.do("M400", takes_s=TOUCH_S)
            now_at = await self._orders.position()
            self._at = await self.check_at(Position(x_mm=at.x_mm, y_mm=at.y_mm, z_mm=now_at.z_mm))
        return dialect.probe_height_mm(reply)

    def _known(self) -> Position:
        if not self.homed or self._at is None:
            raise MachineError(self._orders.where, "its position is not known", "Home it first.")
        return self._at

    @asynccontextmanager
    async def _position_at_stake(self) -> AsyncIterator[None]:
        try:
            yield
        except BaseException:  # a cancelled wait too: nobody saw how the order ended
            self._lose_position()
            raise

    def _lose_position(self) -> None:
        self.homed = False
        self._at = None

    def _line_is_down(self, fault: LinkError) -> None:
        self.connected = False
        self._lose_position()
        self.permit.withdraw("the line to the machine went down")
        if self.on_fault is not None:
            self.on_fault(fault)
