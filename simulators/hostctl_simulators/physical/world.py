"""The physical side: a head that moves over a bed, and what a hand can do and see there.

The world knows nothing of lines and commands. It moves its head where the motors take it, and
counts as a crash whatever a bench would hear.
"""

from collections.abc import Callable

from hostctl_simulators.bed.bed import Bed
from hostctl_simulators.bed.heater import BED, NOZZLE, Heater
from hostctl_simulators.bed.screws import Direction
from hostctl_simulators.chance import normal, stream
from hostctl_simulators.physical.bench_faults import BenchFaults
from hostctl_simulators.physical.build import Build
from hostctl_simulators.physical.contact import Contact
from hostctl_simulators.physical.indicator import Indicator
from hostctl_simulators.physical.mishaps import Crash, Lookout, Mishap
from hostctl_simulators.physical.printers import PrinterKind
from hostctl_simulators.physical.skill import Turned, Turning
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.surface import Lying, Surface
from hostctl_simulators.physical.tips import Tips
from hostctl_simulators.physical.touch_probe import TouchProbe
from hostctl_simulators.physical.truth import Truth


class World:
    """One printer's physical side. Implements `Hands`."""

    def __init__(
        self,
        kind: PrinterKind,
        seed: int,
        clock: Callable[[], float] = lambda: 0.0,
        faults: BenchFaults | None = None,
        build: Build | None = None,
    ) -> None:
        build = build or Build()
        kind = build.of(kind)
        chance = stream(seed, "where the head was left")
        self.kind = kind
        self.seed = seed
        self.faults = faults or BenchFaults()
        self.bed = Bed(kind.bed, seed)
        self.indicator = Indicator.of(kind.indicator, seed, self.faults.indicator_falls)
        self.surface = Surface(kind, self.bed, self.faults.springs_n_per_mm)
        self.guides = build.guides(kind)
        self.tips = Tips(self.surface, self.indicator, self.guides)
        self.turning = Turning(self.faults, seed)
        self.truth = Truth(kind, self.tips)
        self.contact = Contact(self.faults, seed)
        self.lookout = Lookout(self.bed, self.surface, self.tips, self.indicator, kind)
        self.bed_heater = Heater(BED)
        self.nozzle_heater = Heater(NOZZLE)
        self.head = Spot(
            x_mm=round(chance.uniform(kind.from_x_mm + 40, kind.to_x_mm - 40), 2),
            y_mm=round(chance.uniform(kind.from_y_mm + 40, kind.to_y_mm - 40), 2),
            z_mm=round(chance.uniform(12, 20), 2),
        )
        self.probe = TouchProbe(self.faults)
        self.door_open = False
        self.descents = 0
        self.touch_fails: Callable[[], bool] = lambda: False
        self.homings = 0
        self.attended = False  # people stand at it, and do what is asked themselves
        self.on_send: Callable[[], None] | None = None
        self.turn_by = self.turn_screw  # may be set, to take time over a turn that is asked for
        self._clock = clock
        self._descending = False
        self._lead_clipped = False
        self._spoiled = False

    @property
    def crashes(self) -> list[Crash]:
        """Every mishap so far."""
        return self.lookout.crashes

    # ------------------------------------------------------------ what the motors do

    def move_head(self, to: Spot) -> None:
        """The motors take the head straight to `to`."""
        self.warm()
        goal = self._within_frame(to)
        self._note_direction(goal.z_mm)
        start, self.head = self.head, goal
        self.lookout.look_along(start, goal)
        if self.contact.may_fail:
            self.contact.note(-self.tips.depth_mm(goal), self.descents)
        self._press_indicator()

    def touch(self, x_mm: float, y_mm: float) -> float:
        """Where the probe feels the bed, mm above the machine's z = 0, one touch."""
        self.warm()
        self.probe.touches += 1
        sigma_mm = self.truth.probe_sigma_mm or 0.0
        scatter_mm = sigma_mm * normal(self.seed, "probe", self.probe.touches)
        felt_mm = self.bed.height_mm(x_mm, y_mm) + scatter_mm
        probe = self.kind.probe
        if probe is None:
            return felt_mm
        at = Spot(x_mm=x_mm - probe.offset_x_mm, y_mm=y_mm, z_mm=felt_mm + probe.reaches_mm)
        return felt_mm - self.guides.error_mm(at)

    def homing_begins(self) -> None:
        """The head goes to its ends; nothing laid or clipped may be in its way."""
        if self._lead_clipped or self.surface.lying or self.tips.block_mm:
            self.lookout.note(Mishap.HOMED_WITH_THINGS_IN, self.head)

    def home_error_mm(self) -> float:
        """By how much this homing misses z = 0."""
        self.homings += 1
        return self.kind.home_z_mm * normal(self.seed, "homing", self.homings)

    def warm(self) -> None:
        """Bring the heat up to now."""
        now_s = self._clock()
        self.nozzle_heater.pass_time(now_s)
        self.bed_heater.pass_time(now_s)
        self.bed.soaked_c = self.bed_heater.soaked_c

    # ------------------------------------------------------------ what a hand does and sees

    def screw_names(self) -> list[str]:
        """The screws under the bed."""
        return [screw.name for screw in self.kind.bed.screws]

    def nearest_screw(self) -> str:
        """The screw that moves the bed most where the nozzle is."""
        shares = self.bed.shares(self.head.x_mm, self.head.y_mm)
        return max(shares, key=lambda name: shares[name])

    def turn_screw(self, name: str, degrees: float, direction: Direction) -> None:
        """Turn a screw, just so. Raises KeyError for an unknown name."""
        self.bed.turn(name, degrees, direction)
        self._look_again()

    def raises_bed(self, name: str) -> Direction:
        """Which way of turning this screw raises the bed."""
        return self.bed.screws[name].kind.raises

    def turn_as_asked(self, name: str, degrees: float, direction: Direction) -> None:
        """Turn a screw as somebody was told to, as well as hands do that."""
        asked = Turned(screw=name, degrees=degrees, direction=direction)
        done = self.turning.done(asked, self.screw_names())
        self.turn_by(done.screw, done.degrees, done.direction)

    def gap_mm(self) -> float:
        """The gap between nozzle and bed, or what lies on it, as it truly is now; negative:
        pressed together."""
        self.warm()
        return self.tips.gap_mm(self.head)

    def read_indicator(self) -> float:
        """What an eye reads on the indicator, mm. Raises LookupError where none is fitted."""
        return self._fitted_indicator().reading_mm

    def shown_mm(self) -> float:
        """What an indicator with digits shows there, mm, unrounded. Raises as `read_indicator`."""
        return self._fitted_indicator().shown_mm

    def press_send(self) -> None:
        """Press the button of the indicator's cable. Raises LookupError where it has none."""
        if self.on_send is None:
            raise LookupError("the indicator has no cable that types")
        self.on_send()

    def zero_indicator(self) -> None:
        """Turn the bezel to zero. Raises LookupError where no indicator is fitted."""
        self._fitted_indicator().set_zero()

    @property
    def carries_indicator(self) -> bool:
        """Whether one is on the head now."""
        return self.indicator is not None and self.indicator.mounted

    def press_plunger(self) -> float:
        """Press the plunger in by hand, 1 mm: by how much more the number then shows, mm."""
        return 1.0 * self._fitted_indicator().sign

    def lay_block(self, thick_mm: float) -> None:
        """Lay a gauge block on the bed under the plunger; 0 takes it away."""
        self.tips.block_mm = thick_mm
        self._press_indicator()

    def lay_under_nozzle(self, thick_mm: float) -> None:
        """Lay a plate or a gauge block on the bed under the nozzle; 0 takes it away."""
        lying = Lying(x_mm=self.head.x_mm, y_mm=self.head.y_mm, thick_mm=thick_mm)
        self.surface.lying = lying if thick_mm > 0 else None
        self._look_again()

    def clip_lead(self) -> None:
        """Clip the second lead to plate or bed; the nozzle's own goes with the head."""
        self._lead_clipped = True

    def leads_within(self) -> bool:
        """Whether a meter finds voltage and resistance between nozzle and plate as they may be."""
        return not self.faults.leads_beyond

    def leads_slack(self) -> bool:
        """Whether the leads hang slack on a pass."""
        return not self.faults.leads_pulled

    def join_leads(self, joined: bool) -> None:
        """Join nozzle and plate by the lead, or part them again."""
        self.contact.joined = joined

    def contact_closed(self) -> bool:
        """What lamp, meter or input shows, this once."""
        self.warm()
        return self.contact.closed(-self.tips.depth_mm(self.head))

    def free_probe(self) -> None:
        """See to the probe: it moves freely again."""
        self.probe.free()

    def move_door(self, is_open: bool) -> None:
        """Open the door, or shut it."""
        self.door_open = is_open

    def clear_away(self) -> None:
        """Take leads, plate, blades and blocks out of the machine."""
        self._lead_clipped = self.contact.joined = False
        self.surface.lying = None
        self.lay_block(0.0)

    # ------------------------------------------------------------ what spoils a tie

    def turn_bezel(self, more_mm: float) -> None:
        """Turn the bezel, so that it shows so much more."""
        self._fitted_indicator().turn_bezel(more_mm)

    def knock_indicator(self, lower_mm: float) -> None:
        """Knock it: it sits so much lower in its mount from now on."""
        self._fitted_indicator().hangs_mm += lower_mm
        self._press_indicator()

    def warm_room(self, kelvin: float) -> None:
        """It has long been so much warmer in the room; bed and mount have grown."""
        self.warm()
        for heater in (self.nozzle_heater, self.bed_heater):
            heater.warm_room(kelvin)
        self.bed.soaked_c = self.bed_heater.soaked_c
        if self.indicator is not None:
            self.indicator.hangs_mm += self.indicator.kind.mount_mm_per_c * kelvin
        self._press_indicator()

    def change_nozzle(self, longer_mm: float) -> None:
        """Screw in another nozzle, so much longer."""
        self.tips.nozzle_longer_mm += longer_mm

    def _spoil_when_due(self) -> None:
        due, indicator = self.faults.spoiled_at_lowering, self.indicator
        if self._spoiled or indicator is None or not 0 < due <= indicator.lowerings:
            return
        self._spoiled = True
        self.turn_bezel(self.faults.bezel_turned_mm)
        self.knock_indicator(self.faults.knocked_mm)
        self.warm_room(self.faults.warmed_k)
        self.change_nozzle(self.faults.nozzle_longer_mm)

    # ------------------------------------------------------------ how it comes about

    def _fitted_indicator(self) -> Indicator:
        if self.indicator is None or not self.carries_indicator:
            raise LookupError(f"{self.kind.name} carries no dial indicator now")
        self._press_indicator()
        return self.indicator

    def _within_frame(self, to: Spot) -> Spot:
        inside = Spot(
            x_mm=min(max(to.x_mm, self.kind.from_x_mm - 2.0), self.kind.to_x_mm + 2.0),
            y_mm=min(max(to.y_mm, self.kind.from_y_mm - 2.0), self.kind.to_y_mm + 2.0),
            z_mm=min(max(to.z_mm, -5.0), self.kind.size_z_mm + 2.0),
        )
        if inside != to:
            self.lookout.note(Mishap.AGAINST_FRAME, inside)
        return inside

    def _note_direction(self, z_mm: float) -> None:
        """A lead screw comes to rest a little differently each time it turns downward again."""
        if z_mm < self.head.z_mm and not self._descending:
            self._descending = True
            self.descents += 1
            error = normal(self.seed, "return of z", self.descents)
            self.tips.return_error_mm = self.kind.z_return_mm * error
            self.tips.rising = False
        elif z_mm > self.head.z_mm:
            self._descending = False
            self.tips.rising = True

    def _look_again(self) -> None:
        """The head stands still, and what lies under it has moved."""
        self.lookout.look_along(self.head, self.head)
        self._press_indicator()

    def _press_indicator(self) -> None:
        if self.indicator is not None:
            self.warm()
            self.indicator.press(self.tips.pressed_mm(self.head))
            self._spoil_when_due()
