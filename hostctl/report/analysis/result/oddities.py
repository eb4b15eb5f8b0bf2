"""What does not look like chance in one method's settings."""

from dataclasses import dataclass

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.oddities.block_order import BlockDrift, Neighbours
from hostctl.metrology.oddities.warm_up import WarmUp
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.result.judgement import OrderSign, hands_name


@dataclass(frozen=True, slots=True, kw_only=True)
class FarOff:
    """A setting far from the rest of its block; `block` and `place` count from 0.

    away: from its block's mean, mm.  distance: in standard deviations, to compare with `limit`.
    value_mm: as it counts.  reading: its number in its block, from 1; None for the block's zero.
    """

    block: int
    place: int
    away: float
    distance: float
    limit: float
    p_value: float
    source: str
    value_mm: float
    point: str
    reading: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Oddities:
    """What was found in one method's and operator's settings. alpha: the risk it was given.

    outliers_tellable: not where readings fall on one or two graduations.
    spread_without_outliers: None where there are none.
    drifts: whether the drift is more than chance.  neighbours_alike: whether neighbours resemble
    each other more than chance has it, or alternate: neighbours_alternate.
    quiet: whether there is nothing to tell.
    """

    method: str
    operator: str
    alpha: float
    outliers: tuple[FarOff, ...]
    outliers_tellable: bool
    spread: RoundedSpread
    spread_without_outliers: RoundedSpread | NotYet | None
    drift: BlockDrift | NotYet
    drifts: bool
    neighbours: Neighbours | NotYet
    neighbours_alike: bool
    neighbours_alternate: bool
    warm_ups: tuple[WarmUp, ...]
    quiet: bool

    @property
    def order_shows(self) -> tuple[OrderSign, ...]:
        """What shows in the order of settings, more than chance has it."""
        alternate = self.neighbours_alternate
        signs: dict[OrderSign, bool] = {
            "drift": self.drifts,
            "likeness of neighbours": self.neighbours_alike and not alternate,
            "alternation of neighbours": alternate,
            "warm-up": any(found.trials for found in self.warm_ups),
        }
        return tuple(sign for sign, seen in signs.items() if seen)

    @property
    def name(self) -> str:
        """Method and hands, as in a sentence."""
        return hands_name(self.method, self.operator)
