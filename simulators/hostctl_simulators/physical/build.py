"""How one printer was built and delivered, where that is not as its kind: keys of its url."""

from dataclasses import dataclass, replace

from hostctl_simulators.bed.bed import BedKind
from hostctl_simulators.bed.screws import Direction, ScrewKind, opposite
from hostctl_simulators.physical.guides import Guides
from hostctl_simulators.physical.indicator import IndicatorKind
from hostctl_simulators.physical.printers import PrinterKind, Rooms

DIRECTIONS: dict[str, Direction] = {"clockwise": "clockwise", "anticlockwise": "anticlockwise"}
FEWEST, MOST = 3, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Build:
    """All at their defaults: as its kind."""

    from_x_mm: float = 0.0  # what its controller calls the place where it homes
    from_y_mm: float = 0.0
    wide_mm: float = 0.0  # its travel; 0: as its kind
    deep_mm: float = 0.0
    high_mm: float = 0.0
    tilt_mm: float = 0.0  # its highest screw is so much above its lowest; 0: as its kind comes
    bed_mm: float = -0.2  # the mean height of its screws where it is tilted
    bow_mm: float = 0.0  # its middle is so much higher, besides what its kind has
    twist_mm: float = 0.0  # of the plate: two opposite corners are so much above the others
    screws: int = 0  # 3 to 6; 0: as its kind
    pitch_mm: float = 0.7
    raises: str = "clockwise"  # which way of turning raises it, seen from above; or `anticlockwise`
    odd_screw: int = 0  # this one, counted from 1, raises it the other way; 0: none
    play_deg: float = 0.0  # of each screw
    screw_travel_mm: float = 4.0  # each way, from where it was delivered
    stiff_plate: int = 0  # 1: it does not follow its screws, but lies evenly on their springs
    noise: float = 1.0  # all scatter of axis, homing, indicator and probe, so many times
    guide_bow_mm: float = 0.0  # the head is so much higher in the middle of the x guide
    lead_error_mm: float = 0.0  # amplitude, once a turn of the z screw
    z_play_mm: float = 0.0  # on its way up the head is so much lower than it was sent
    unmounted: int = 0  # 1: its indicator lies beside it at first
    hangs_mm: float = 5.5  # how far the free plunger reaches below the nozzle
    offset_x_mm: float = 25.0  # from the nozzle to the plunger
    offset_y_mm: float = 0.0
    sticks_out_mm: float = 20.0  # beyond the head, on the side of the plunger
    room_left_mm: float = 60.0  # from the head's side to the frame, at that end of the travel
    room_right_mm: float = 60.0
    room_front_mm: float = 60.0
    room_back_mm: float = 60.0
    room_below_mm: float = 40.0  # under the plunger at the homing place, where no bed is

    def __post_init__(self) -> None:
        if self.raises not in DIRECTIONS:
            raise ValueError(f"'raises' is one of {', '.join(DIRECTIONS)}, not '{self.raises}'")
        if self.screws and not FEWEST <= self.screws <= MOST:
            raise ValueError(f"'screws' is {FEWEST} to {MOST}, or 0")
        if min(self.tilt_mm, self.play_deg, self.screw_travel_mm, self.noise) < 0:
            raise ValueError("'tilt_mm', 'play_deg', 'screw_travel_mm', 'noise' are at least 0")
        if self.pitch_mm <= 0:
            raise ValueError("'pitch_mm' is above 0")

    def of(self, kind: PrinterKind) -> PrinterKind:
        """The kind, built like this."""
        indicator, probe = kind.indicator, kind.probe
        if indicator is not None:
            indicator = self._mounted(indicator)
        if probe is not None:
            probe = replace(probe, sigma_mm=probe.sigma_mm * self.noise)
        return replace(
            kind,
            bed=self._bed(kind),
            from_x_mm=self.from_x_mm,
            from_y_mm=self.from_y_mm,
            size_x_mm=self.wide_mm or kind.size_x_mm,
            size_y_mm=self.deep_mm or kind.size_y_mm,
            size_z_mm=self.high_mm or kind.size_z_mm,
            rooms=self._rooms(),
            indicator=indicator,
            probe=probe,
            z_return_mm=kind.z_return_mm * self.noise,
            home_z_mm=kind.home_z_mm * self.noise,
        )

    def guides(self, kind: PrinterKind) -> Guides:
        """Its axes."""
        return Guides(
            size_x_mm=kind.size_x_mm,
            from_x_mm=kind.from_x_mm,
            bow_mm=self.guide_bow_mm,
            lead_error_mm=self.lead_error_mm,
            play_mm=self.z_play_mm,
        )

    def _mounted(self, indicator: IndicatorKind) -> IndicatorKind:
        return replace(
            indicator,
            play_mm=indicator.play_mm * self.noise,
            hangs_mm=self.hangs_mm,
            offset_x_mm=self.offset_x_mm,
            offset_y_mm=self.offset_y_mm,
            sticks_out_mm=self.sticks_out_mm,
            in_its_box=bool(self.unmounted),
        )

    def _rooms(self) -> Rooms:
        return Rooms(
            left_mm=self.room_left_mm,
            right_mm=self.room_right_mm,
            front_mm=self.room_front_mm,
            back_mm=self.room_back_mm,
            below_mm=self.room_below_mm,
        )

    def _bed(self, printer: PrinterKind) -> BedKind:
        kind = printer.bed
        screws = kind.screws if self.screws in (0, len(kind.screws)) else self._placed(kind)
        return replace(
            kind,
            screws=tuple(
                self._screw(self._moved(screw, printer), odd=number == self.odd_screw)
                for number, screw in enumerate(screws, 1)
            ),
            more_bow_mm=self.bow_mm,
            twist_mm=self.twist_mm,
            tilt_mm=self.tilt_mm,
            tilted_about_mm=self.bed_mm,
            stiff=bool(self.stiff_plate),
        )

    def _moved(self, screw: ScrewKind, printer: PrinterKind) -> ScrewKind:
        """As far inward, in proportion, as on a bed of its kind."""
        wide = self.wide_mm / printer.size_x_mm if self.wide_mm else 1.0
        deep = self.deep_mm / printer.size_y_mm if self.deep_mm else 1.0
        x_mm = self.from_x_mm + screw.x_mm * wide
        y_mm = self.from_y_mm + screw.y_mm * deep
        return replace(screw, x_mm=round(x_mm, 1), y_mm=round(y_mm, 1))

    def _screw(self, screw: ScrewKind, *, odd: bool) -> ScrewKind:
        raises = DIRECTIONS[self.raises]
        return replace(
            screw,
            pitch_mm=self.pitch_mm,
            raises=opposite(raises) if odd else raises,
            play_deg=self.play_deg,
            travel_mm=self.screw_travel_mm,
        )

    def _placed(self, kind: BedKind) -> list[ScrewKind]:
        """So many screws within the bounds of the kind's own."""
        left, right = (pick(s.x_mm for s in kind.screws) for pick in (min, max))
        front, back = (pick(s.y_mm for s in kind.screws) for pick in (min, max))
        across, along = (left + right) / 2, (front + back) / 2
        corners = [
            ("front-left", left, front),
            ("front-right", right, front),
            ("back-left", left, back),
            ("back-right", right, back),
        ]
        places = {
            3: [*corners[:2], ("back", across, back)],
            4: corners,
            5: [*corners, ("middle", across, along)],
            6: [*corners, ("left", left, along), ("right", right, along)],
        }[self.screws]
        return [ScrewKind(name=name, x_mm=x, y_mm=y) for name, x, y in places]
