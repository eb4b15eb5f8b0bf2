"""Methods compared in the same hands, hands compared by the same method, and both at once.

Ratios are of what was read, rig included: the rig is the same in both, so it brings ratios nearer
to 1 and never the other way round. numpy is loaded here, and only here when there is a comparison.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from math import prod

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.significance import Equivalence, Significance, holm
from hostctl.metrology.comparison.equivalent_freedom import equivalent_spread
from hostctl.metrology.comparison.interaction import SpreadInteraction, spread_interaction
from hostctl.metrology.comparison.spread_ratio import sd_equivalence, sd_ratio
from hostctl.metrology.spread.rig import Spread
from hostctl.report.analysis.judgement import Judged
from hostctl.report.analysis.result.comparison import (
    Compared,
    Comparison,
    Hands,
    HandsMatter,
    InTheseHands,
    SpreadStanding,
    Varied,
)
from hostctl.report.document.reasons import Withheld

ALPHA = 0.05
SEED = 20_251_125  # of the shuffles, so that the same readings give the same figures
_FEWEST_IN_BLOCK = 3
_MANY = 20_000  # settings above which shuffling would take long and adds nothing


def compared(judged: Sequence[Judged], margin: float) -> Compared:
    """Every comparison there is."""
    methods = list(dict.fromkeys(one.sample.method for one in judged))
    operators = list(dict.fromkeys(one.sample.operator for one in judged))
    pairs = [
        *_adjusted(list(_pairs(judged, "method", operators, margin))),
        *_adjusted(list(_pairs(judged, "operator", methods, margin))),
    ]
    full = min(len(methods), len(operators)) > 1 and len(judged) == len(methods) * len(operators)
    test = _interaction(judged) if full else None
    return Compared(
        margin=margin,
        pairs=tuple(pairs),
        hands=tuple(_hands(judged, methods, operators, margin, pairs)) if full else (),
        test=test,
        hands_differ=isinstance(test, Significance) and test.p_value <= ALPHA,
    )


def _pairs(
    judged: Sequence[Judged], varied: Varied, fixed: Sequence[str], margin: float
) -> Iterator[Comparison]:
    for name in fixed:
        mine = [one for one in judged if _fixed(one, varied) == name]
        for one, other in combinations(mine, 2):
            yield _pair(one, other, varied, margin)


def _fixed(one: Judged, varied: Varied) -> str:
    return one.sample.operator if varied == "method" else one.sample.method


def _pair(one: Judged, other: Judged, varied: Varied, margin: float) -> Comparison:
    """Its p value not adjusted yet, and its standing still open."""
    ratio, equivalence = _ratio(_spread(one), _spread(other), margin)
    test = _test(one, other)
    return Comparison(
        varied=varied,
        fixed=_fixed(one, varied),
        first=getattr(one.sample, varied),
        second=getattr(other.sample, varied),
        ratio=ratio,
        test=test,
        adjusted_p=1.0 if isinstance(test, Significance) else test,
        equivalence=equivalence,
        standing="cannot tell",
    )


def _ratio(
    first: Spread | NotYet, second: Spread | NotYet, margin: float
) -> tuple[Estimate | NotYet, Equivalence | NotYet]:
    if isinstance(first, NotYet):
        return first, first
    if isinstance(second, NotYet):
        return second, second
    return sd_ratio(first, second), sd_equivalence(first, second, margin, ALPHA)


def _adjusted(pairs: Sequence[Comparison]) -> Iterator[Comparison]:
    """Methods among themselves are one family of questions, hands another."""
    known = [pair.test.p_value for pair in pairs if isinstance(pair.test, Significance)]
    rest = iter(holm(known))
    for pair in pairs:
        adjusted_p = next(rest) if isinstance(pair.test, Significance) else pair.adjusted_p
        yield replace(pair, adjusted_p=adjusted_p, standing=_standing(pair, adjusted_p))


def _standing(pair: Comparison, adjusted_p: float | NotYet) -> SpreadStanding:
    """Alike goes first, as it is what matters."""
    if isinstance(pair.equivalence, Equivalence) and pair.equivalence.equivalent:
        return "alike"
    if isinstance(adjusted_p, NotYet) or isinstance(pair.ratio, NotYet) or adjusted_p > ALPHA:
        return "cannot tell"
    return "larger" if pair.ratio.value > 1.0 else "smaller"


def _spread(one: Judged) -> Spread | NotYet:
    spread = one.result.spread
    return spread if isinstance(spread, NotYet) else equivalent_spread(spread)


def _settings(one: Judged) -> list[tuple[str, Readings]]:
    """Point and settings of each block that is long enough to show a spread."""
    found = zip(one.sample.blocks, one.sample.settings, strict=True)
    return [(block.point, values) for block, values in found if len(values) >= _FEWEST_IN_BLOCK]


def _test(one: Judged, other: Judged) -> Significance | NotYet:
    import numpy as np

    from hostctl.metrology.comparison.spread_permutation import Block, spread_permutation_test
    from hostctl.metrology.comparison.spread_tests import brown_forsythe

    groups = [_settings(each) for each in (one, other)]
    try:
        if sum(len(values) for group in groups for _, values in group) > _MANY:
            return brown_forsythe(
                [
                    np.concatenate([np.asarray(v) - np.median(v) for _, v in group])
                    for group in groups
                ]
            )
        blocks = [
            Block(method=number, stratum=point, values=list(values))
            for number, group in enumerate(groups)
            for point, values in group
        ]
        return spread_permutation_test(blocks, np.random.default_rng(SEED))
    except NotEnough as why:
        return NotYet(reason=why.reason)


def _hands(
    judged: Sequence[Judged],
    methods: Sequence[str],
    operators: Sequence[str],
    margin: float,
    pairs: Sequence[Comparison],
) -> Iterator[Hands]:
    """Each method against the one with the smallest spread over all hands."""
    known = _known_spreads(judged)
    whole = [m for m in methods if all((m, operator) in known for operator in operators)]
    if not whole:
        return
    steadiest = min(whole, key=lambda m: prod(known[m, operator].s for operator in operators))
    for method in (one for one in methods if one != steadiest):
        found: SpreadInteraction | NotYet = NotYet(reason=Reason(Withheld.BOUND_IN_SOME_HANDS))
        if method in whole:
            found = spread_interaction(
                {operator: known[method, operator] for operator in operators},
                {operator: known[steadiest, operator] for operator in operators},
                margin,
            )
        yield _against(method, steadiest, found, pairs, margin)


def _known_spreads(judged: Sequence[Judged]) -> dict[tuple[str, str], Spread]:
    """By method and operator; those of which only a bound is known are left out."""
    spreads = {(one.sample.method, one.sample.operator): _spread(one) for one in judged}
    return {key: s for key, s in spreads.items() if isinstance(s, Spread) and s.s > 0.0}


def _against(
    method: str,
    baseline: str,
    found: SpreadInteraction | NotYet,
    pairs: Sequence[Comparison],
    margin: float,
) -> Hands:
    by_operator = () if isinstance(found, NotYet) else found.by_operator
    return Hands(
        method=method,
        baseline=baseline,
        found=found,
        standings=tuple(
            InTheseHands(
                operator=one.operator,
                ratio=one.ratio,
                standing=_standing_of(method, baseline, one.operator, pairs),
            )
            for one in by_operator
        ),
        matter=None if isinstance(found, NotYet) else _matter(found, margin),
    )


def _standing_of(
    method: str, baseline: str, operator: str, pairs: Sequence[Comparison]
) -> SpreadStanding:
    """How the method stands to the baseline in these hands, as the comparisons have it."""
    opposite: dict[SpreadStanding, SpreadStanding] = {"larger": "smaller", "smaller": "larger"}
    for pair in pairs:
        if (pair.varied, pair.fixed) == ("method", operator):
            if (pair.first, pair.second) == (method, baseline):
                return pair.standing
            if (pair.second, pair.first) == (method, baseline):
                return opposite.get(pair.standing, pair.standing)
    return "cannot tell"


def _matter(found: SpreadInteraction, margin: float) -> HandsMatter:
    """Shown by a pair of operators that differ, where there is one."""
    differing = [pair for pair in found.pairs if pair.differs]
    between = (differing or list(found.pairs))[0]
    if between.estimate.high <= margin and between.estimate.low >= 1 / margin:
        return HandsMatter(verdict="no", between=between)
    return HandsMatter(verdict="yes" if differing else "cannot tell yet", between=between)


def _interaction(judged: Sequence[Judged]) -> Significance | NotYet:
    import numpy as np

    from hostctl.metrology.comparison.interaction_permutation import interaction_permutation

    cells = {
        (one.sample.operator, one.sample.method): [list(values) for _, values in _settings(one)]
        for one in judged
    }
    if sum(len(values) for blocks in cells.values() for values in blocks) > _MANY:
        return NotYet(reason=Reason(Withheld.TOO_MANY_TO_SHUFFLE))
    if not all(cells.values()):
        return NotYet(reason=Reason(Withheld.BLOCKS_TOO_SHORT, least=_FEWEST_IN_BLOCK))
    try:
        return interaction_permutation(cells, np.random.default_rng(SEED))
    except NotEnough as why:
        return NotYet(reason=why.reason)
