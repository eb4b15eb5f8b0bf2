"""A gauge block under the nozzle, and how finely a hand feels that the nozzle touches it."""

from hostctl_simulators.chance import stream


class GaugeBlock:
    """One block: its error is the same at each use, within the limit of its grade."""

    def __init__(self, seed: int, *, error_mm: float = 0.0002, feel_mm: float = 0.005) -> None:
        """error_mm: the limit of its grade (ISO 3650 has them). feel_mm: how far off touching a
        gap may be that still is felt as just touching."""
        self.error_mm = error_mm
        self.feel_mm = feel_mm
        self._seed = seed
        self._felt = 0

    def high_mm(self, written_mm: float) -> float:
        """How high the block is that says so much."""
        error_mm = stream(self._seed, f"block {written_mm:.4f}").uniform(-1, 1) * self.error_mm
        return written_mm + error_mm

    def felt_mm(self, written_mm: float) -> float:
        """The gap that is felt as just touching it, this once."""
        self._felt += 1
        chance = stream(self._seed, f"feel of the block/{self._felt}")
        return self.high_mm(written_mm) + chance.uniform(-self.feel_mm, self.feel_mm)
