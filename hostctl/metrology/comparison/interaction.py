"""Does the ratio of two methods' spreads depend on whose hands: operator x method interaction.

Makes it possible to state or deny "the paper is as good as the light in practised hands, not in new
ones": the ratio in each operator's hands with its interval, the ratio of those ratios for each pair
of operators, and one test over all.
"""

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from hostctl.metrology.basis.distributions import chi_square_quantile, chi_square_sf, f_sf
from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Significance, holm
from hostctl.metrology.comparison.spread_ratio import sd_ratio, sd_ratio_test
from hostctl.metrology.spread.rig import Spread

_SOURCE = "Zou and Donner 2008, Statistics in Medicine 27, 1693-1702, on logarithms"


class Standing(StrEnum):
    """How one method's spread stands to another's, as far as the data say."""

    AS_GOOD = "as good"
    WORSE = "worse"
    BETTER = "better"
    CANNOT_TELL = "cannot tell yet"


@dataclass(frozen=True, slots=True, kw_only=True)
class InHands:
    """One operator: method over baseline, and how it stands.

    `ratio` is at the stated confidence; `as_good_p` that of the two one-sided tests within the
    margin; `different_p` that of the F test, Holm-adjusted over the operators.
    """

    operator: str
    ratio: Estimate
    as_good_p: float
    different_p: float
    standing: Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioOfRatios:
    """How many times larger the ratio is in the first operator's hands than in the second's."""

    first: str
    second: str
    estimate: Estimate

    @property
    def differs(self) -> bool:
        """Whether 1 lies outside the interval."""
        return 1.0 not in self.estimate.interval


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadInteraction:
    """A method against a baseline, operator by operator, and whether the operators differ."""

    by_operator: tuple[InHands, ...]
    pairs: tuple[RatioOfRatios, ...]
    test: Significance
    not_yet: Mapping[str, NotYet]

    def standing_of(self, operator: str) -> Standing:
        """How the method stands in these hands; cannot tell where no ratio could be formed."""
        found = (hands.standing for hands in self.by_operator if hands.operator == operator)
        return next(found, Standing.CANNOT_TELL)


def spread_interaction(
    method: Mapping[str, Spread],
    baseline: Mapping[str, Spread],
    margin: float,
    confidence: float = 0.95,
) -> SpreadInteraction | NotYet:
    """Compare two methods' spreads in the hands of two or more operators.

    method, baseline: pooled spread by operator. margin: the largest ratio that still counts as
    good, above 1. NotYet where fewer than two operators give a ratio. Raises ValueError for a
    margin not above 1, NotEnough for an operator who lacks one of the methods. Supposes
    normal readings; for rounded ones see `interaction_permutation`.
    """
    if not margin > 1.0:
        raise ValueError(f"as good as: the margin is {margin}, must be above 1")
    if lacking := set(method) ^ set(baseline):
        raise NotEnough(Reason(Why.METHOD_LACKING, operators=", ".join(sorted(lacking))))
    ratios = {name: sd_ratio(method[name], baseline[name], confidence) for name in method}
    known = {name: r for name, r in ratios.items() if isinstance(r, Estimate)}
    missing = {name: r for name, r in ratios.items() if isinstance(r, NotYet)}
    if len(known) < 2:
        return NotYet(reason=Reason(Why.TOO_FEW_OPERATORS))
    pairs = itertools.combinations(known, 2)
    return SpreadInteraction(
        by_operator=_in_hands(known, method, baseline, margin),
        pairs=tuple(_ratio_of_ratios(a, b, method, baseline, confidence) for a, b in pairs),
        test=_alike_test(known, method, baseline),
        not_yet=missing,
    )


def _in_hands(
    known: Mapping[str, Estimate],
    method: Mapping[str, Spread],
    baseline: Mapping[str, Spread],
    margin: float,
) -> tuple[InHands, ...]:
    different = holm([_p_different(method[name], baseline[name]) for name in known])
    hands = []
    for (name, ratio), p in zip(known.items(), different, strict=True):
        as_good = _p_not_as_good(ratio.value, method[name], baseline[name], margin)
        standing = _standing(ratio, as_good, p)
        hands.append(
            InHands(operator=name, ratio=ratio, as_good_p=as_good, different_p=p, standing=standing)
        )
    return tuple(hands)


def _standing(ratio: Estimate, as_good_p: float, different_p: float) -> Standing:
    """As good is shown first: a difference inside the margin, however sure, does not matter."""
    alpha = 1.0 - ratio.interval.confidence
    if as_good_p <= alpha:
        return Standing.AS_GOOD
    if different_p > alpha:
        return Standing.CANNOT_TELL
    return Standing.WORSE if ratio.value > 1.0 else Standing.BETTER


def _p_different(first: Spread, second: Spread) -> float:
    test = sd_ratio_test(first, second)
    return test.p_value if isinstance(test, Significance) else 1.0


def _ratio_of_ratios(
    first: str,
    second: str,
    method: Mapping[str, Spread],
    baseline: Mapping[str, Spread],
    confidence: float,
) -> RatioOfRatios:
    """Log limits of the four standard deviations combined: each side takes the ends that matter."""
    up = [method[first], baseline[second]]
    down = [baseline[first], method[second]]
    log_value = sum(math.log(s.s) for s in up) - sum(math.log(s.s) for s in down)
    tail = (1.0 - confidence) / 2.0
    low = math.hypot(*(_log_reach(s, 1 - tail) for s in up), *(_log_reach(s, tail) for s in down))
    high = math.hypot(*(_log_reach(s, tail) for s in up), *(_log_reach(s, 1 - tail) for s in down))
    return RatioOfRatios(
        first=first,
        second=second,
        estimate=Estimate(
            value=math.exp(log_value),
            interval=Interval(
                low=math.exp(log_value - low),
                high=math.exp(log_value + high),
                confidence=confidence,
            ),
            n=int(sum(s.df + 1 for s in (*up, *down))),
            how="ratio of ratios of standard deviations",
            source=_SOURCE,
        ),
    )


def _log_reach(spread: Spread, p: float) -> float:
    return 0.5 * math.log(chi_square_quantile(p, spread.df) / spread.df)


def _alike_test(
    known: Mapping[str, Estimate], method: Mapping[str, Spread], baseline: Mapping[str, Spread]
) -> Significance:
    """Are all operators' log ratios one and the same: their weighted scatter, chi-square."""
    dfs = [(method[name].df, baseline[name].df) for name in known]
    logs = [
        math.log(known[name].value) - _log_bias(df_method) + _log_bias(df_baseline)
        for name, (df_method, df_baseline) in zip(known, dfs, strict=True)
    ]
    weights = [1.0 / (_log_variance(a) + _log_variance(b)) for a, b in dfs]
    centre = sum(w * x for w, x in zip(weights, logs, strict=True)) / sum(weights)
    scatter = sum(w * (x - centre) ** 2 for w, x in zip(weights, logs, strict=True))
    return Significance(
        statistic=scatter,
        p_value=chi_square_sf(scatter, len(logs) - 1),
        df=(len(logs) - 1,),
        n=int(sum(a + b + 2 for a, b in dfs)),
        how="scatter of log ratios between operators",
        source="Bartlett and Kendall 1946, J. R. Stat. Soc. Suppl. 8, 128-138",
    )


def _p_not_as_good(ratio: float, first: Spread, second: Spread, margin: float) -> float:
    """The larger p of the two one-sided tests within the margin."""
    return max(
        f_sf((ratio * margin) ** 2, first.df, second.df),
        f_sf((margin / ratio) ** 2, second.df, first.df),
    )


def _log_bias(df: float) -> float:
    """Mean of log(s / sigma): half of digamma(df / 2) - log(df / 2)."""
    return 0.5 * (_digamma(df / 2.0) - math.log(df / 2.0))


def _log_variance(df: float) -> float:
    """Variance of log s: a quarter of trigamma(df / 2)."""
    return 0.25 * _trigamma(df / 2.0)


def _digamma(x: float) -> float:
    """DLMF 5.5.2 up to 10, then 5.11.2."""
    if x < 10.0:
        return _digamma(x + 1.0) - 1.0 / x
    w = 1.0 / (x * x)
    return math.log(x) - 0.5 / x - w * (1 / 12 - w * (1 / 120 - w * (1 / 252 - w / 240)))


def _trigamma(x: float) -> float:
    """The derivative of the above."""
    if x < 10.0:
        return _trigamma(x + 1.0) + 1.0 / (x * x)
    w = 1.0 / (x * x)
    return 1.0 / x + 0.5 * w + w / x * (1 / 6 - w * (1 / 30 - w * (1 / 42 - w / 30)))
