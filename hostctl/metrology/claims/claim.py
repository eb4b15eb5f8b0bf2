"""A claim about future settings, and the two kinds of evidence that it can be judged by."""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from hostctl.metrology.basis.confidence_box import ConfidenceBox
from hostctl.metrology.basis.estimate import Interval, NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.claims.looks import ONE_LOOK, Looks


class Centre(StrEnum):
    """What a setting's deviation is counted from."""

    LONG_RUN_MEAN = "long-run mean"
    STUDY_MEAN = "study mean"
    DATUM = "datum"


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """At least `content` of settings within ±`tolerance` of `centre`, at `confidence`.

    looks: which look at it this is, as trials come in; all looks share the risk of error.
    """

    tolerance: float
    content: float = 0.95
    confidence: float = 0.95
    centre: Centre = Centre.LONG_RUN_MEAN
    looks: Looks = ONE_LOOK
    unit: str = "mm"

    def __post_init__(self) -> None:
        if not (self.tolerance > 0 and math.isfinite(self.tolerance)):
            raise ValueError(f"a tolerance above 0 is needed, not {self.tolerance}")
        if not (0.5 <= self.content < 1 and 0.5 < self.confidence < 1 and self.looks.share > 0):
            raise ValueError(
                "content 0.5 to 1, confidence above 0.5 and a look with a share are needed"
            )

    @property
    def risk(self) -> float:
        """Chance of error allowed at each end, for one look."""
        return (1 - self.confidence) * self.looks.share

    @property
    def at_next_look(self) -> "Claim | None":
        """The same, judged again after more trials; None where no look is left."""
        ahead = self.looks.next
        return replace(self, looks=ahead) if ahead.share > 0 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleSpread:
    """Standard deviation `sd` of one setting on `df` degrees of freedom, from `n` settings.

    bias: mean of the settings less the datum, where there is a datum.
    """

    sd: float
    df: float
    n: int
    bias: float | None = None

    def __post_init__(self) -> None:
        if self.n < 2 or not self.df > 0:
            raise NotEnough(Reason(Why.TOO_FEW, what="settings", given=self.n, least=2))
        if not (math.isfinite(self.sd) and self.sd >= 0):
            raise NotEnough(Reason(Why.NO_SPREAD_TO_JUDGE, sd=self.sd))


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadLimits:
    """Limits for σ from elsewhere: `sigma.low`, `sigma.high`, each wrong in at most its tail.

    A finite interval is two-sided, with (1 - confidence)/2 in each tail; one with an open end
    (-inf below, inf above) has it all in the other. likely: best single figure for σ, may be 0.
    blocks: of how many blocks, in each of which the claim has to hold, `n` and `bias` are the
    worst one's.  resolution: what readings were rounded to, 0 where they are points.  as_read: the
    upper limit with the rig in it, where `sigma` is without: a mean is as doubtful as it is read.
    off: limits of the mean's distance from the datum, each wrong in at most the same tail, where
    one block tells them by itself; else they follow from sigma.
    datum_error: where the datum may lie wrong, common to all blocks; None: it doesn't. Of a target
    that a tie makes known it is `TieConstant.error`. `off`, where given, has to have it in already
    (`MeanGap.reach` has).
    """

    sigma: Interval
    likely: float
    n: int
    bias: float | None = None
    blocks: int = 1
    resolution: float = 0.0
    as_read: float | None = None
    off: Interval | None = None
    datum_error: ConfidenceBox | None = None

    def __post_init__(self) -> None:
        if (
            self.n * self.blocks < 2
            or self.n < 1
            or math.isnan(self.sigma.low + self.sigma.high + self.likely)
        ):
            raise NotEnough(Reason(Why.NO_LIMITS))

    def datum_doubt(self, risk: float) -> float:
        """How far the datum may lie wrong; either way it lies farther with at most this risk."""
        return 0.0 if self.datum_error is None else self.datum_error.farthest(risk)

    @property
    def tail(self) -> float:
        """Chance that one limit is wrong."""
        whole = 1 - self.sigma.confidence
        one_sided = math.isinf(self.sigma.low) or math.isinf(self.sigma.high)
        return whole if one_sided else whole / 2
