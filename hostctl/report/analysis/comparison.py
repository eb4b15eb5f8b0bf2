"""Methods compared in the same hands, hands compared by the same method, and both at once.

Ratios are of settings where the rig can be taken out of both, and else of what was read. Methods
among themselves are one family of questions, hands another; within a family the risk is shared over
its pairs.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import log

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.comparison.interaction import InHands, RatioOfRatios, ratio_of_ratios
from hostctl.metrology.comparison.spread_ratio import SpreadRatio, spread_ratio
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.judgement import Judged
from hostctl.report.analysis.result.comparison import (
    Compared,
    Comparison,
    Hands,
    InTheseHands,
    Matter,
    SpreadStanding,
    Varied,
)

ALPHA = 0.05


def compared(judged: Sequence[Judged], rig: SpreadEvidence | None, margin: float) -> Compared:
    """Every comparison there is. rig: of the rig check to take out."""
    methods = list(dict.fromkeys(one.sample.method for one in judged))
    operators = list(dict.fromkeys(one.sample.operator for one in judged))
    full = min(len(methods), len(operators)) > 1 and len(judged) == len(methods) * len(operators)
    pairs = (*_pairs(judged, "method", rig, margin), *_pairs(judged, "operator", rig, margin))
    hands = tuple(_hands(judged, methods, operators, margin, pairs)) if full else ()
    return Compared(
        margin=margin,
        pairs=pairs,
        hands=hands,
        hands_matter=_over_all([one.matter for one in hands]) if hands else None,
    )


def _pairs(
    judged: Sequence[Judged], varied: Varied, rig: SpreadEvidence | None, margin: float
) -> Iterator[Comparison]:
    fixed: dict[str, list[Judged]] = {}
    for one in judged:
        fixed.setdefault(_fixed(one, varied), []).append(one)
    pairs = [(name, *pair) for name, mine in fixed.items() for pair in combinations(mine, 2)]
    for name, one, other in pairs:
        found = _found(one, other, rig, margin, len(pairs))
        yield Comparison(
            varied=varied,
            fixed=name,
            first=getattr(one.sample, varied),
            second=getattr(other.sample, varied),
            found=found,
            standing=_standing(found),
        )


def _fixed(one: Judged, varied: Varied) -> str:
    return one.sample.operator if varied == "method" else one.sample.method


def _found(
    one: Judged, other: Judged, rig: SpreadEvidence | None, margin: float, compared: int
) -> SpreadRatio | NotYet:
    if isinstance(one.evidence, NotYet):
        return one.evidence
    if isinstance(other.evidence, NotYet):
        return other.evidence
    settings = [each.result.setting for each in (one, other)]
    taken_out = all(isinstance(setting, Setting) and setting.rig_out for setting in settings)
    return spread_ratio(
        one.evidence,
        other.evidence,
        rig=rig if taken_out else None,
        margin=margin,
        compared=compared,
        alpha=ALPHA,
    )


def _standing(found: SpreadRatio | NotYet) -> SpreadStanding:
    if isinstance(found, NotYet):
        return "cannot tell"
    if found.differs:
        return "larger" if found.interval.low >= 1.0 else "smaller"
    return "alike" if found.as_good else "cannot tell"


def _hands(
    judged: Sequence[Judged],
    methods: Sequence[str],
    operators: Sequence[str],
    margin: float,
    compared: Sequence[Comparison],
) -> Iterator[Hands]:
    """Each method against the one with the smallest spread over all hands."""
    known = {
        (one.sample.method, one.sample.operator): one.evidence
        for one in judged
        if not isinstance(one.evidence, NotYet)
    }
    if len(known) < len(judged):
        return
    steadiest = min(
        methods,
        key=lambda method: sum(log(known[method, operator].likeliest) for operator in operators),
    )
    others = [method for method in methods if method != steadiest]
    pairs = list(combinations(operators, 2))
    for method in others:
        in_hands = {
            operator: InHands(operator, known[method, operator], known[steadiest, operator])
            for operator in operators
        }
        found = tuple(
            ratio_of_ratios(
                in_hands[first],
                in_hands[second],
                margin=margin,
                compared=len(pairs) * len(others),
                alpha=ALPHA,
            )
            for first, second in pairs
        )
        yield Hands(
            method=method,
            baseline=steadiest,
            standings=tuple(
                InTheseHands(
                    operator=operator, standing=_standing_to(method, steadiest, operator, compared)
                )
                for operator in operators
            ),
            pairs=found,
            matter=_matter(found),
        )


def _standing_to(
    method: str, baseline: str, operator: str, compared: Sequence[Comparison]
) -> SpreadStanding:
    """How the method stands to the baseline in these hands, as the comparisons have it."""
    opposite: dict[SpreadStanding, SpreadStanding] = {"larger": "smaller", "smaller": "larger"}
    for pair in compared:
        if (pair.varied, pair.fixed) == ("method", operator):
            if (pair.first, pair.second) == (method, baseline):
                return pair.standing
            if (pair.second, pair.first) == (method, baseline):
                return opposite.get(pair.standing, pair.standing)
    return "cannot tell"


def _matter(pairs: Sequence[RatioOfRatios]) -> Matter:
    if any(pair.differs for pair in pairs):
        return "yes"
    return "no" if all(pair.within_margin for pair in pairs) else "cannot tell yet"


def _over_all(each: Sequence[Matter]) -> Matter:
    if "yes" in each:
        return "yes"
    return "no" if all(one == "no" for one in each) else "cannot tell yet"
