"""Spreads compared: methods in the same hands, hands by the same method, and both at once."""

from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.comparison.interaction import RatioOfRatios
from hostctl.metrology.comparison.spread_ratio import SpreadRatio

Varied = Literal["method", "operator"]
SpreadStanding = Literal["larger", "smaller", "alike", "cannot tell"]
Matter = Literal["yes", "no", "cannot tell yet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two spreads: first over second. varied: what differs; fixed: what both share.

    found: the ratio, its interval and p allowing for all comparisons of its kind; NotYet where one
    of the two has no spread.
    standing: how the first stands to the second: larger or smaller exactly where the interval
    leaves out 1; alike where it doesn't, and the ratio lies within the margin.
    """

    varied: Varied
    fixed: str
    first: str
    second: str
    found: SpreadRatio | NotYet
    standing: SpreadStanding


@dataclass(frozen=True, slots=True, kw_only=True)
class InTheseHands:
    """How a method stands to the one it is held against, in one operator's hands."""

    operator: str
    standing: SpreadStanding


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """Two methods in different hands: does the ratio of their spreads depend on whose.

    standings: operator by operator, as the comparisons have it.
    pairs: operator against operator, each allowing for all that are compared.
    matter: yes where one pair's interval leaves out 1; no where all lie within the margin.
    """

    method: str
    baseline: str
    standings: tuple[InTheseHands, ...]
    pairs: tuple[RatioOfRatios, ...]
    matter: Matter


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """All comparisons of a study. margin: the ratio up to which two spreads are as good.

    hands: each method against the steadiest one; empty without several methods and hands.
    hands_matter: over all of them, as they say one by one; None without.
    """

    margin: float
    pairs: tuple[Comparison, ...]
    hands: tuple[Hands, ...]
    hands_matter: Matter | None
