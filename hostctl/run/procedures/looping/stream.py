"""Touches of one level, one after the other: held against a limit, and looked at now and then.

Of one level are touches at one point, from one side, of one homing, with no standing still
between; where each touch is homed for, homing is a part of it. Little is kept of them, whatever
their number.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from hostctl.metrology.looping.control_limit import ControlLimit, LimitCheck
    from hostctl.metrology.looping.known_spread import KnownSpread, SpreadLook


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Which touches are of one level. round: how often their block was begun."""

    side: str | None
    round: int
    homings: int
    breaks: int


@dataclass(slots=True, kw_only=True)
class Stream:
    """limit, known: what it is held against and what looks at it; None: nothing does.

    checked, due: what came of the last touch.  look: the last look.
    """

    level: Level
    limit: "ControlLimit | None"
    known: "KnownSpread | None"
    checked: "LimitCheck | None" = None
    look: "SpreadLook | None" = None
    due: "SpreadLook | None" = None

    def hear(self, value_mm: float) -> None:
        """One more touch."""
        self.checked = self.limit.add(value_mm) if self.limit else None
        self.due = self.known.add(value_mm) if self.known else None
        self.look = self.due or self.look

    @property
    def is_known(self) -> bool:
        """Whether the last look found the spread known well enough."""
        return self.look is not None and self.look.stop


RISK = 0.05
"""Of all looks at all levels of a loop together."""


def confidence_of_each(levels: int) -> float:
    """Of what is stated of one level, that all hold together (Bonferroni)."""
    return 1.0 - RISK / levels


@dataclass(frozen=True, slots=True, kw_only=True)
class Streams:
    """Makes the streams of one loop. touches: how many it has at most; the maths that they need is
    loaded with the first of them.

    limited: whether touches are held against a limit.  known_to: a share of the spread, or None.
    levels: so many points and sides share the risk of what looks state.
    """

    touches: int
    resolution_mm: float
    limited: bool
    known_to: float | None
    levels: int

    def begin(self, level: Level, to_come: int) -> Stream:
        """A stream of at most so many touches."""
        return Stream(level=level, limit=self._limit(), known=self._known(to_come))

    def _limit(self) -> "ControlLimit | None":
        """The one false stop is shared by all touches of the loop, however they lie."""
        if not self.limited:
            return None
        from hostctl.metrology.looping.control_limit import ControlLimit

        return ControlLimit(most=self.touches, resolution=self.resolution_mm)

    def _known(self, to_come: int) -> "KnownSpread | None":
        if self.known_to is None or to_come < 2:
            return None
        from hostctl.metrology.looping.known_spread import KnownSpread

        return KnownSpread(
            most=to_come,
            known_to=self.known_to,
            resolution=self.resolution_mm,
            confidence=confidence_of_each(self.levels),
        )
