"""Whether a number has settled: so many readings in a row that are alike. Pure."""

from collections import deque

from hostctl.config.parts.gauge import Gauge

SHARE = 1e-6
"""Of what may lie between them: what decimals cost."""


class Settling:
    """What an indicator showed since it was asked, until it stands still."""

    def __init__(self, alike: int, alike_to_mm: float) -> None:
        """alike: so many in a row; alike_to_mm: the highest of them above the lowest, at most."""
        self._seen: deque[float] = deque(maxlen=alike)
        self._most_mm = alike_to_mm * (1 + SHARE)

    @classmethod
    def by(cls, settings: Gauge) -> "Settling":
        """As the gauge's section says."""
        line = settings.line
        return cls(line.alike, line.alike_to_mm or settings.resolution_mm)

    def saw(self, value_mm: float | None) -> float | None:
        """The settled value, which is the last one seen; None: not yet.

        None for `value_mm`, a line that held no number, breaks the row.
        """
        if value_mm is None:
            self._seen.clear()
            return None
        self._seen.append(value_mm)
        whole = len(self._seen) == self._seen.maxlen
        return value_mm if whole and max(self._seen) - min(self._seen) <= self._most_mm else None
