"""One printer, in the job's words.

Position is never assumed: the machine is unhomed until `home` and again after any fault, and each
move is closed by asking where the head is. Motion is forbidden until `permit.give()`. Motors are
never let go, since a head or gantry could sink.
"""

from contextlib import suppress

from hostctl.config.machine import Machine as MachineFile
from hostctl.config.parts.axis import Way
from hostctl.config.parts.loop import Side
from hostctl.config.parts.tie import Tie
from hostctl.errors import HostctlError, LinkError, MachineError
from hostctl.link.port import SimulatedIndicator
from hostctl.link.reply import Greeting
from hostctl.machine.controller.line import Line
from hostctl.machine.controller.orders import Orders, printable
from hostctl.machine.controller.own_job import OwnJob, check_no_own_job
from hostctl.machine.controller.troubles import Troubles, unasked_error
from hostctl.machine.descent.bracket import Bracket
from hostctl.machine.descent.descent import Descent
from hostctl.machine.dialects.dialect import Dialect, learned
from hostctl.machine.envelope import Envelope
from hostctl.machine.head import ITS_TURN, Head
from hostctl.machine.heat import Heaters
from hostctl.machine.homing import homed_in_its_dialect
from hostctl.machine.permit import Permit, halt_not_sent
from hostctl.machine.probing import TRIES, Probing
from hostctl.machine.signals.signals import Signals
from hostctl.observers import Observers
from hostctl.records import Position, Temperatures


class Machine:
    """One printer at the end of one line.

    Anything it raises of its own (MachineError) or of the line (LinkError) leaves it unhomed, but
    for orders refused before a byte was sent, an open door, and what an input does not prove.
    """

    def __init__(self, config: MachineFile, line: Line) -> None:
        self.config = config
        self.envelope = Envelope(config)
        self.permit = Permit(f"machine '{config.machine}'")
        self.connected = False
        self.halted_by: str | None = None
        """Who told it to halt since it was last connected, as given to `halt`; None: nobody."""
        self.halt_went_out = False
        """Whether there was a line for a halt to go out on since it was last connected."""
        self.on_fault: Observers[HostctlError] = Observers()
        """Told of a line that went down, of an error that no order caused, of a halt unsent."""
        self._line = line
        self._orders = Orders(config, line)
        self.signals = Signals(config, self._orders)
        self._head = Head(config, self._orders, self.envelope, self.permit, self.signals)
        self.heaters = Heaters(config, self._orders, self.envelope, self._head)
        self._dialect: Dialect | None = None
        self.probing = Probing(
            config, self._orders, self._head, self.envelope, self.permit, self.signals, self._spoken
        )
        self.troubles = Troubles(line)
        self._remove = line.on_fault.add(self._line_is_down)
        self.troubles.on_unasked.add(self._unasked)

    # ------------------------------------------------------------ getting ready, and stopping

    async def connect(self, patience_s: float = 0.0) -> Greeting:
        """Open the line, learn the dialect, take it over. Nothing moves; the machine is unhomed.

        Raises PortError, LinkError, PluginError, or OwnJob: it is connected then, and only asked.
        """
        self._head.lose()
        self.connected = False
        self.halted_by = None
        self._orders.only_asks = True
        greeting = await self._line.connect(patience_s)
        self.connected = True
        self._dialect = await learned(self.config.dialect, greeting, self._orders.introduction)
        await self.take_over()
        return greeting

    async def check_ours(self) -> None:
        """Raises OwnJob where the board runs a job of its own: from then on it is only asked."""
        try:
            await check_no_own_job(self._orders, self.heaters.heat)
        except OwnJob:
            self._orders.only_asks = True
            self._head.lose()
            raise

    async def take_over(self) -> None:
        """If it runs no job of its own: heaters off, mm, absolute, motors on. Raises OwnJob."""
        await self.check_ours()
        self._orders.only_asks = False
        await self.heaters.take_over()
        keep = self._spoken().keep_motors_on()
        for command in ("G21", "G90", *([keep] if keep else [])):
            await self._orders.attempt(command)

    async def make_ready(self, patience_s: float = 0.0) -> None:
        """Connected and ours, whatever was before. Raises as `connect`."""
        if self.connected:
            await self.take_over()
        else:
            await self.connect(patience_s)

    @property
    def homed(self) -> bool:
        """Whether the head's position is known."""
        return self._head.homed

    @property
    def ours(self) -> bool:
        """Whether it is connected and runs no job of its own, as far as is known."""
        return self.connected and not self._orders.only_asks

    async def home(self) -> None:
        """Find the reference position, first rising from where the head is: it needs room above.

        Where it was found before, what was believed of it is forgotten first.
        """
        self.permit.check()
        await self.signals.check_door()
        self._head.lose()
        at, self._dialect = await homed_in_its_dialect(self.config, self._orders, self._spoken())
        self._head.found_at(at)
        await self.lift()

    def halt(self, by: str) -> None:
        """Stop at once; the board then wants a reset. No emergency stop. by: the channel."""
        went_out_before = self.halted_by is not None and self.halt_went_out
        self.halted_by, self.halt_went_out = by, self.connected or went_out_before
        self.permit.withdraw("the machine was halted")
        self._head.lose()
        self._line.halt()
        if not self.halt_went_out:
            self.on_fault.tell(halt_not_sent(self._orders.where))

    async def make_safe(self) -> str | None:
        """Heaters off, no motion any more. Gives what went wrong in words, None when nothing."""
        self.permit.withdraw("the machine was left to rest")
        return await self.heaters.off_if_possible()

    async def safe_at_last(self) -> str | None:
        """As `make_safe`; but a line that went down with a heater on is opened once more."""
        problem = await self.make_safe()
        if self.heaters.may_be_on and not self.connected:
            with suppress(HostctlError):  # then the first problem is still the one to tell
                await self.connect()
                problem = await self.make_safe()
        return problem

    def let_go(self) -> None:
        """Hear the line no more: another Machine has it from now on."""
        self._remove()
        self.troubles.let_go()

    # ------------------------------------------------------------ motion

    async def lift(self) -> None:
        """Straight up to the clear height; nothing when the head is there or above."""
        await self.rise_to(self.envelope.clear_z_mm)

    async def rise_to(self, z_mm: float) -> None:
        """Straight up to `z_mm`; nothing when the head is there or above."""
        await self._head.go(self.envelope.up(self._head.known(), z_mm))

    async def go_over(self, x_mm: float, y_mm: float) -> None:
        """Across, at the clear height or above, the nozzle over `x_mm`, `y_mm`."""
        await self._head.go(self.envelope.across(x_mm, y_mm))

    async def pass_slowly(self, x_mm: float, y_mm: float) -> None:
        """As `go_over`, so slowly that eyes can follow what hangs on the head."""
        await self._head.go(self.envelope.across(x_mm, y_mm, slowly=True))

    async def come_from(self, x_mm: float, y_mm: float, side: Side, by_mm: float) -> None:
        """Up, and over `x_mm`, `y_mm` from the left or the right, beginning `by_mm` beside it.

        Raises MachineError, and nothing moves, where there is no room on that side.
        """
        places_mm = (x_mm - by_mm if side == "left" else x_mm + by_mm, x_mm)
        for place_mm in places_mm:
            self.envelope.check_spot(place_mm, y_mm)
        await self.lift()
        for place_mm in places_mm:
            await self.go_over(place_mm, y_mm)

    async def lower_to(self, z_mm: float, *, slowly: bool = False) -> None:
        """Straight down to `z_mm`, the last 2 mm slowly; slowly: all, as the gap is unknown."""
        await self._head.go(self.envelope.down(self._head.known(), z_mm, slowly=slowly))

    async def step_to(self, z_mm: float, *, coming_from: Way, overrun_mm: float) -> None:
        """Straight to `z_mm`, slowly, coming from above or below by `overrun_mm` at least.

        Never lower than 1 mm above where the bed may be, nor where the plunger would be driven to
        its stop. Raises MachineError where it would be, and nothing moves.
        """
        at = self._head.known()
        await self._head.go(self.envelope.step_to(at, z_mm, coming_from, overrun_mm))

    def descent(self, bracket: Bracket, tie: Tie) -> Descent:
        """A way down towards a contact, from where the nozzle stands. Moves nothing yet."""
        return Descent(self._head, self.envelope, self.heaters, self.permit, bracket, tie)

    async def park(self) -> None:
        """Up, and across to where the head waits when nothing is going on."""
        await self.lift()
        if self.config.park is not None:
            await self.go_over(self.config.park.x_mm, self.config.park.y_mm)

    async def settle(self, settle_s: float) -> None:
        """Stand still for `settle_s` seconds of the controller's own clock."""
        await self._head.settle(settle_s)

    async def come_with_probe(self, x_mm: float, y_mm: float) -> None:
        """Bring the probe's tip over `x_mm`, `y_mm`; nothing moves when it is there."""
        if not self.probing.is_over(x_mm, y_mm):
            await self.lift()
            await self.go_over(*self.probing.nozzle_over(x_mm, y_mm))

    async def probe(
        self,
        x_mm: float,
        y_mm: float,
        lift_mm: float = 5.0,
        proven: str | None = None,
        tries: int = TRIES,
    ) -> float:
        """Touch the bed with the probe's tip over `x_mm`, `y_mm`, then rise by `lift_mm`; mm.

        Before each touch one look shows that the door is shut, the output `proven` as switched, and
        the probe free. One without a height is told and done again; after `tries` the head goes up.
        """
        await self.come_with_probe(x_mm, y_mm)
        return await self.probing.touch(x_mm, y_mm, lift_mm, proven, tries)

    async def switch(self, output: str) -> None:
        """Switch an output of the machine file, the head up. Raises MachineError: not proven."""
        self.signals.output(output)
        if self.homed:
            await self.lift()
        self.permit.check()
        await self.signals.check_door()
        await self.signals.switch(output)

    # ------------------------------------------------------------ where, and whether cool

    async def where(self) -> Position:
        """Where the head is, asked now."""
        return await self._head.where()

    async def check_at(self, expected: Position, objection: str = "") -> Position:
        """Where the head is, which must be `expected`; else as `Head.check_at`, and unhomed."""
        return await self._head.check_at(expected, objection)

    async def check_cool(self) -> Temperatures:
        """The temperatures, safe for hands. Raises MachineError when they are not."""
        return await self.heaters.check_cool()

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

    def _spoken(self) -> Dialect:
        if self._dialect is None:
            raise MachineError(self._orders.where, "it is not connected", ITS_TURN)
        return self._dialect

    def _unasked(self, error: str) -> None:
        if self.homed:
            fault = unasked_error(self._orders.where, error)
            self._break_off(fault, "the controller told of an error")

    def _line_is_down(self, fault: LinkError) -> None:
        self.connected = False
        self._break_off(fault, "the line to the machine went down")

    def _break_off(self, fault: HostctlError, why: str) -> None:
        self._head.lose()
        self.permit.withdraw(why)
        self.on_fault.tell(fault)
