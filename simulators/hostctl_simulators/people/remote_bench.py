"""Hands and eyes at a bare machine in another process: `BenchHands` over the same socket."""

from typing import cast

from hostctl_simulators.people.bench import Described, Side, Tip, Under, Way
from hostctl_simulators.people.hands import RemoteHands


class RemoteBench(RemoteHands):
    """Implements `BenchHands` too; see `Bench` for what each does."""

    def mounted(self) -> bool:
        """See `Bench`."""
        return cast(bool, self._ask("mounted"))

    def mount_indicator(self) -> None:
        """See `Bench`."""
        self._ask("mount_indicator")

    def take_indicator_off(self) -> None:
        """See `Bench`."""
        self._ask("take_indicator_off")

    def shows(self) -> float:
        """See `Bench`."""
        return cast(float, self._ask("shows"))

    def tip_below_nozzle_mm(self) -> float:
        """See `Bench`."""
        return cast(float, self._ask("tip_below_nozzle_mm"))

    def tip_above_bed_mm(self) -> float:
        """See `Bench`."""
        return cast(float, self._ask("tip_above_bed_mm"))

    def nozzle_above_bed_mm(self) -> float:
        """See `Bench`."""
        return cast(float, self._ask("nozzle_above_bed_mm"))

    def stands_mm(self) -> tuple[float, float]:
        """See `Bench`."""
        right_mm, back_mm = cast(list[float], self._ask("stands_mm"))
        return right_mm, back_mm

    def room_mm(self, side: Side) -> float:
        """See `Bench`."""
        return cast(float, self._ask("room_mm", side))

    def under_plunger(self) -> Under:
        """See `Bench`."""
        return cast(Under, self._ask("under_plunger"))

    def sticks_out_mm(self, side: Side) -> float:
        """See `Bench`."""
        return cast(float, self._ask("sticks_out_mm", side))

    def fix_closer(self) -> None:
        """See `Bench`."""
        self._ask("fix_closer")

    def goes_under(self, thick_mm: float) -> bool:
        """See `Bench`."""
        return cast(bool, self._ask("goes_under", thick_mm))

    def make_mark(self) -> None:
        """See `Bench`."""
        self._ask("make_mark")

    def mark_from(self, tip: Tip) -> tuple[float, float]:
        """See `Bench`."""
        right_mm, back_mm = cast(list[float], self._ask("mark_from", tip))
        return right_mm, back_mm

    def turn_all_screws(self, degrees: float, way: Way) -> None:
        """See `Bench`."""
        self._ask("turn_all_screws", degrees, way)

    def described(self) -> Described:
        """See `Bench`."""
        return cast(Described, self._ask("described"))
