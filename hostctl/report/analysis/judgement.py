"""One method in one pair of hands: its spread, the rig taken out, and the verdict on a tolerance.

The claim is about settings, so the rig is taken out first. An end of the interval is used for the
claim only where it errs in at most the risk the claim allows: the upper end of a two-sided interval
at 1 - risk (a profile-likelihood interval has nearly all its chance to miss there), the lower end
of one at 1 - 2 risk. Both ends then err more seldom than allowed, never more often.

Where readings count from a datum, each block is as far off it as it is, and the spread is that
within blocks: the claim has to hold in each, and the worst one decides.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import fsum

from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.basis.root_finding import fewest
from hostctl.metrology.claims.claim import Centre, Claim, SpreadLimits
from hostctl.metrology.claims.decision import decide, reach
from hostctl.metrology.claims.tolerance import ratio_quantile
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets, Verdict
from hostctl.metrology.rounded.rounding import RoundedSpread, rounded_spread
from hostctl.metrology.spread.sample import describe
from hostctl.metrology.spread.setting import Setting, setting_of
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.material import Block, Goal, Material

CONFIDENCE = 0.95

SpreadAt = Callable[[float], RoundedSpread]
"""The spread with its interval at the confidence asked for. Raises NotEnough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """The rig check that a study is judged by. notes: why this one, and where it fits badly."""

    name: str
    at: SpreadAt
    spread: RoundedSpread
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A claim's verdict. reach: where the half-width holding that share may lie, mm.

    rig_out: whether the rig was taken out of what was judged.  worst: the block that decides, where
    there is a choice; else empty.
    """

    verdict: Verdict
    claim: Claim
    evidence: SpreadLimits
    reach: Interval
    rig_out: bool
    worst: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What one method in one pair of hands comes to, mm.

    off: how far settings are off the datum on average; NotYet without one.
    setting: the rig taken out.  judged: None where no tolerance is named.
    """

    method: str
    operator: str
    blocks: tuple[Block, ...]
    readings: int
    off: Estimate | NotYet
    spread: RoundedSpread | NotYet
    setting: Setting | NotYet
    judged: Judged | NotYet | None

    @property
    def name(self) -> str:
        """Method and hands, as in a sentence."""
        return f"{self.method} by {self.operator}" if self.operator else self.method

    @property
    def values(self) -> list[Readings]:
        """The readings, block by block."""
        return [block.values_mm for block in self.blocks]


def spread_at(blocks: Sequence[Readings], resolution_mm: float, reference: Reference) -> SpreadAt:
    """The spread common to blocks, at any confidence; each is worked out once."""

    @lru_cache(maxsize=8)
    def at(confidence: float) -> RoundedSpread:
        return rounded_spread(
            blocks, resolution=resolution_mm, reference=reference, confidence=confidence
        )

    return at


def rig_of(material: Material) -> Rig:
    """A rig check's spread, all its blocks pooled. Raises NotEnough."""
    at = spread_at(
        [block.values_mm for block in material.blocks], material.resolution_mm, material.reference
    )
    return Rig(name=material.name, at=at, spread=at(CONFIDENCE), notes=material.notes)


def result_of(
    method: str,
    operator: str,
    blocks: Sequence[Block],
    material: Material,
    rig: Rig | None,
    *,
    goal: Goal | None,
    looks: int,
) -> Result:
    """Work one method and operator out. goal: None for no verdict, as on a rig check."""
    values = [block.values_mm for block in blocks]
    at = spread_at(values, material.resolution_mm, material.reference)
    spread, setting = _spreads(at, rig)
    off = _off(values, material)
    return Result(
        method=method,
        operator=operator,
        blocks=tuple(blocks),
        readings=sum(map(len, values)),
        off=off,
        spread=spread,
        setting=setting,
        judged=_judged(goal, looks, at, rig, spread, off, blocks, itself_judged=material.nobody_set)
        if goal
        else None,
    )


def _spreads(at: SpreadAt, rig: Rig | None) -> tuple[RoundedSpread | NotYet, Setting | NotYet]:
    try:
        spread = at(CONFIDENCE)
    except NotEnough as why:
        return NotYet(reason=why.reason, needs_n=2), NotYet(reason=why.reason, needs_n=2)
    return spread, setting_of(spread, rig.spread if rig else None)


def _off(values: Sequence[Readings], material: Material) -> Estimate | NotYet:
    if not material.zero_known:
        return NotYet(reason=Reason(Withheld.NOT_ONE_DATUM))
    try:
        return describe(values, reference=material.reference).mean
    except NotEnough as why:
        return NotYet(reason=why.reason)


def _judged(
    goal: Goal,
    looks: int,
    at: SpreadAt,
    rig: Rig | None,
    spread: RoundedSpread | NotYet,
    off: Estimate | NotYet,
    blocks: Sequence[Block],
    *,
    itself_judged: bool,
) -> Judged | NotYet:
    if isinstance(spread, NotYet):
        return spread
    claim = Claim(
        tolerance=goal.within_mm,
        content=goal.proportion,
        confidence=goal.confidence,
        centre=Centre.DATUM if isinstance(off, Estimate) else Centre.LONG_RUN_MEAN,
        looks=looks,
    )
    spread_only = claim.centre is Centre.LONG_RUN_MEAN
    risk = claim.risk if spread_only else claim.risk / 2
    upper, rig_out = _interval(at, rig, 1 - risk)
    lower, _ = _interval(at, rig, 1 - 2 * risk)
    setting = setting_of(spread, rig.spread if rig and rig_out else None)
    likely = _likely(spread, setting)
    sigma = Interval(low=min(lower.low, upper.high), high=upper.high, confidence=1 - 2 * risk)
    if spread_only:
        n = _worth(spread.n, likely, upper.high, risk)
        worst, evidence = "", SpreadLimits(sigma=sigma, likely=likely, n=n)
    else:
        worst, evidence = _worst(claim, sigma, likely, blocks)
    verdict = decide(claim, evidence)
    if isinstance(verdict, DoesNotMeet) and not (rig_out or itself_judged):
        verdict = CannotTellYet(
            why=Reason(Withheld.RIG_NOT_KNOWN, found=verdict.why),
            further_trials=None,
            power=0.0,
        )
    return Judged(
        verdict=verdict,
        claim=claim,
        evidence=evidence,
        reach=reach(claim, evidence),
        rig_out=rig_out,
        worst=worst,
    )


def _worst(
    claim: Claim, sigma: Interval, likely: float, blocks: Sequence[Block]
) -> tuple[str, SpreadLimits]:
    """The block in which settings may reach farthest from the datum, and what is known of it."""
    means = [fsum(block.values_mm) / len(block.values_mm) for block in blocks]
    farthest: dict[int, int] = {}  # of the blocks of each size
    for number in sorted(range(len(blocks)), key=lambda number: abs(means[number])):
        farthest[len(blocks[number].values_mm)] = number
    known = {
        number: SpreadLimits(
            sigma=sigma, likely=likely, n=size, bias=means[number], blocks=len(blocks)
        )
        for size, number in farthest.items()
    }
    worst = max(known, key=lambda number: reach(claim, known[number]).high)
    name = f"{blocks[worst].point or 'block'} ({worst + 1} of {len(blocks)})"
    return (name if len(blocks) > 1 else ""), known[worst]


def _interval(at: SpreadAt, rig: Rig | None, confidence: float) -> tuple[Interval, bool]:
    """The setting's, or where the rig can't be taken out, that of both together."""
    total = at(confidence)
    setting = setting_of(total, rig.at(confidence) if rig else None)
    if isinstance(setting, NotYet):
        return total.interval, False
    return setting.interval, True


def _worth(n: int, likely: float, high: float, risk: float) -> int:
    """How many unrounded settings without a rig would give as high a limit; at most n.

    Where only the spread counts, n serves to foresee how many trials are wanted, and rounding and
    rig make each one worth less.
    """
    if likely <= 0.0:
        return n
    return fewest(lambda m: m >= n or likely / ratio_quantile(risk, m - 1) <= high, least=2)


def _likely(spread: RoundedSpread, setting: Setting | NotYet) -> float:
    if isinstance(setting, Setting):
        return setting.value or 0.0
    return spread.quoted.value if isinstance(spread.quoted, Estimate) else 0.0


def verdict_word(judged: Judged | NotYet | None) -> str:
    """The verdict in the fewest words; empty where none was asked for."""
    match judged:
        case None:
            return ""
        case Judged(verdict=Meets()):
            return "meets"
        case Judged(verdict=DoesNotMeet()):
            return "does not meet"
        case Judged() | NotYet():
            return "cannot tell yet"
