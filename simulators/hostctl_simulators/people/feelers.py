"""A set of feeler blades, and how finely a hand feels whether one goes in."""

from hostctl_simulators.chance import stream

FINE_MM = tuple(round(0.01 * count, 2) for count in range(2, 11))  # 0.02 to 0.10
COARSE_MM = tuple(round(0.05 * count, 2) for count in range(3, 21))  # 0.15 to 1.00
MOST_MM = 3.0  # thicker gaps are filled with several


class Blades:
    """One set: each blade has an error of its own, the same at each use, within its limit.

    The set is as sold for adjusting valves: common practice, no source.
    """

    def __init__(self, seed: int, *, error_mm: float = 0.003, feel_mm: float = 0.005) -> None:
        """error_mm: each blade's limit of error. feel_mm: a blade that is up to so much thicker or
        thinner than the gap may be felt either way."""
        self.error_mm = error_mm
        self.feel_mm = feel_mm
        self._seed = seed
        self._tried = 0
        self._felt_mm = 0.0

    def largest_in_mm(self, gap_mm: float) -> float:
        """The largest, by what is written on it, that goes in; 0 where not even the thinnest."""
        self._tried += 1
        chance = stream(self._seed, f"feel of blades/{self._tried}")
        self._felt_mm = chance.uniform(-self.feel_mm, self.feel_mm)
        return max((each for each in self._stacks() if self._goes_in(each, gap_mm)), default=0.0)

    def smallest_out_mm(self, gap_mm: float) -> float:
        """The smallest that does not go in, felt as finely as the one before; where all do, the
        thickest again."""
        out = (each for each in self._stacks() if not self._goes_in(each, gap_mm))
        return next(out, MOST_MM)

    def thick_mm(self, written_mm: float) -> float:
        """How thick a blade, or several together, truly is."""
        error_mm = stream(self._seed, f"blade {written_mm:.2f}").uniform(-1, 1) * self.error_mm
        return written_mm + error_mm

    def _goes_in(self, written_mm: float, gap_mm: float) -> bool:
        return self.thick_mm(written_mm) <= gap_mm + self._felt_mm

    def _stacks(self) -> list[float]:
        """Blades and what is put together of them, in order."""
        more = [round(0.05 * count, 2) for count in range(21, round(MOST_MM / 0.05) + 1)]
        return [*FINE_MM, *COARSE_MM, *more]
