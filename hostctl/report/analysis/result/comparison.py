"""Spreads compared: methods in the same hands, hands by the same method, and both at once."""

from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.significance import Equivalence, Significance
from hostctl.metrology.comparison.interaction import RatioOfRatios, SpreadInteraction

Varied = Literal["method", "operator"]
SpreadStanding = Literal["larger", "smaller", "alike", "cannot tell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two spreads: first over second. varied: what differs; fixed: what both share.

    adjusted_p: of `test`, allowing for there being several comparisons of its kind (Holm).
    standing: how the first stands to the second.
    """

    varied: Varied
    fixed: str
    first: str
    second: str
    ratio: Estimate | NotYet
    test: Significance | NotYet
    adjusted_p: float | NotYet
    equivalence: Equivalence | NotYet
    standing: SpreadStanding


@dataclass(frozen=True, slots=True, kw_only=True)
class InTheseHands:
    """The method over the steadiest one in one operator's hands; standing: as in `pairs`."""

    operator: str
    ratio: Estimate
    standing: SpreadStanding


@dataclass(frozen=True, slots=True, kw_only=True)
class HandsMatter:
    """Whether a ratio depends on whose hands, by the pair of operators that shows it best.

    verdict: no, where it can't make a difference that counts.
    """

    verdict: Literal["yes", "no", "cannot tell yet"]
    between: RatioOfRatios


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """A method against the steadiest one, in each operator's hands.

    found: operator by operator on its own, and how operators differ; a standing there allows for
    nothing but itself.  standings: those of the comparisons; matter: None where nothing was found.
    """

    method: str
    baseline: str
    found: SpreadInteraction | NotYet
    standings: tuple[InTheseHands, ...]
    matter: HandsMatter | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """All comparisons of a study. margin: the ratio up to which two spreads are as good.

    test: does the order of methods depend on whose hands, over all of them; hands_differ: whether
    it was shown to.
    """

    margin: float
    pairs: tuple[Comparison, ...]
    hands: tuple[Hands, ...]
    test: Significance | NotYet | None
    hands_differ: bool
