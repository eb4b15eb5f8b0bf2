"""What a study will be able to show, by formula: quick enough to be asked before each answer.

Formulas are those of planning, exact for normal settings whose readings are points. Rounding and
rig count in the spread that is read; that the rig is known by so many readings only counts where a
method is told from it. `hostctl plan` allows for all of that by trial: what is said here of 80 % of
studies holds there for 75 to 80 % (tolerances of 5 graduations, rigs of up to 1).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import comb

from hostctl.drafts.ahead.rig import RigKnown
from hostctl.metrology.basis.distributions import f_quantile, normal_quantile
from hostctl.metrology.claims.assumed import COARSE, AssumedStudy, RigAssumed
from hostctl.metrology.claims.decision import spread_meeting
from hostctl.metrology.claims.planning import chance_to_see_ratio, precision_of_sd
from hostctl.report.planning.planning import claim_about
from hostctl.report.planning.wishes import CONFIDENCE, POWER, PROPORTION

_Z = normal_quantile((1 + PROPORTION) / 2)
JUDGED_BY = 20
"""Settings by which a rig is held against a tolerance."""
FINEST_SURE_TO = 1.25
"""The finest tolerance of a rig is right to within this factor, for rigs of 0.05 to 4 graduations:
by trial it is 0.82 to 1.19 times as fine."""
_CLOSE = 1.002
"""How close a spread or a ratio is found: nobody reads the third digit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A study as far as it matters for what it shows.

    methods, people, points, trials: how many; trials in each block. zeros: whether each block has
    a zero, which counts as a setting. true_gap: whether the tolerance is about a target.
    """

    methods: int
    people: int
    points: int
    trials: int
    zeros: bool
    true_gap: bool
    resolution_mm: float
    within_mm: float | None

    @property
    def total(self) -> int:
        """Trials of the whole study, without zeros."""
        return self.methods * self.people * self.points * self.trials

    @property
    def settings(self) -> int:
        """Of one method in one pair of hands."""
        return self.points * (self.trials + self.zeros)

    @property
    def df(self) -> int:
        """What they leave once each block has a mean of its own."""
        return self.settings - self.points


@dataclass(frozen=True, slots=True, kw_only=True)
class Able:
    """What will show in 4 of 5 studies, of one method in one pair of hands.

    settings: of each, zeros included. doubt: the relative standard deviation of a spread found
    (JCGM 100:2008, table E.1). method_ratio, hands_ratio: how many times as widely one must spread
    as another, in the same hands or by the same method; None where there is but one. proven_mm: the
    largest spread with which the tolerance is proven; None: with none, or without a tolerance.
    told_from_rig_mm: the smallest spread of its own told from the rig; None without a check.
    """

    settings: int
    doubt: float
    method_ratio: float | None
    hands_ratio: float | None
    proven_mm: float | None
    told_from_rig_mm: float | None


def able(plan: Plan, rig: RigKnown | None) -> Able:
    """Raises NotEnough where a block has fewer than two settings."""
    blocks = plan.points
    methods = plan.people * comb(plan.methods, 2)
    hands = plan.methods * comb(plan.people, 2)
    return Able(
        settings=plan.settings,
        doubt=precision_of_sd(plan.df + 1).relative_sd,
        method_ratio=ratio_shown(plan.settings, AssumedStudy(blocks=blocks, pairs=methods))
        if methods
        else None,
        hands_ratio=ratio_shown(plan.settings, AssumedStudy(blocks=blocks, pairs=hands))
        if hands
        else None,
        proven_mm=_proven_mm(plan, rig),
        told_from_rig_mm=None if rig is None else _told_from_rig_mm(plan.df, rig),
    )


def ratio_shown(settings: int, study: AssumedStudy) -> float:
    """The least true ratio of two spreads that is seen in 4 of 5 studies (two-sided F test)."""

    def seen(ratio: float) -> bool:
        return chance_to_see_ratio(settings, ratio, risk=1 - CONFIDENCE, study=study) >= POWER

    high = 2.0
    while not seen(high):
        high *= 2.0
    return _edge(seen, high, 1.0)


def _proven_mm(plan: Plan, rig: RigKnown | None) -> float | None:
    """Rig and rounding are in what is read, and in its limit too where that is about a mean."""
    if plan.within_mm is None or is_finer_than_readings(plan.within_mm, plan.resolution_mm):
        return None
    study = AssumedStudy(
        resolution=plan.resolution_mm,
        rig=None if rig is None else RigAssumed(trials=rig.trials, sd=rig.spread_mm),
    )
    limit_mm = plan.within_mm
    if not plan.true_gap:
        limit_mm = _Z * study.read_as(limit_mm / _Z)
    read_mm = limit_mm * _spread_proven(plan.settings, plan.df, plan.true_gap)
    left_mm = read_mm**2 - study.read_as(0.0) ** 2
    return math.sqrt(left_mm) if left_mm > 0 else None


@cache
def _spread_proven(settings: int, df: int, datum: bool) -> float:
    """The widest spread with which a tolerance is proven in 4 of 5 studies, in tolerances."""
    claim = claim_about(1.0, proportion=PROPORTION, confidence=CONFIDENCE, datum=datum)
    return spread_meeting(claim, n=settings, df=df, power=POWER)


def is_finer_than_readings(within_mm: float, resolution_mm: float) -> bool:
    """Whether rounding stands in the way of a tolerance, whatever the spread."""
    return within_mm / _Z < COARSE * resolution_mm


def _told_from_rig_mm(df: float, rig: RigKnown) -> float:
    """By the F test of what is read against the rig check, each known by so many readings.

    The readings' spread must be above the rig's with 97.5 %, and is so in 4 of 5 studies where its
    true ratio to the rig's is the root of F at 0.975 over F at 0.2.
    """
    if rig.sd_mm is None:
        return rig.hides_below_mm
    tail = (1 - CONFIDENCE) / 2
    ratio = f_quantile(1 - tail, df, rig.df) / f_quantile(1 - POWER, df, rig.df)
    return rig.sd_mm * math.sqrt(ratio - 1)


def finest_tolerance_mm(rig: RigKnown) -> float:
    """The finest that 20 settings prove, in 4 of 5 studies, of a method that adds nothing."""
    assumed = RigAssumed(trials=rig.trials, sd=rig.spread_mm)
    read_mm = AssumedStudy(resolution=rig.resolution_mm, rig=assumed).read_as(0.0)
    by_spread_mm = read_mm / _spread_proven(JUDGED_BY, JUDGED_BY - 1, False)
    return max(by_spread_mm, COARSE * _Z * rig.resolution_mm)


def _edge(holds: Callable[[float], bool], inside: float, outside: float) -> float:
    """Where it ceases to hold, coming from `inside`, where it does; on the side where it holds."""
    while max(inside / outside, outside / inside) > _CLOSE:
        middle = math.sqrt(inside * outside)
        inside, outside = (middle, outside) if holds(middle) else (inside, middle)
    return inside
