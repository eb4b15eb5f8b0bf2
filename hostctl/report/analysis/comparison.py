"""Methods compared in the same hands, hands compared by the same method, and both at once.

Ratios are of what was read, rig included: the rig is the same in both, so it brings ratios nearer
to 1 and never the other way round. numpy is loaded here, and only here when there is a comparison.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import prod
from typing import TYPE_CHECKING, Literal

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.reference import Reference, settings_of
from hostctl.metrology.basis.significance import Significance, holm
from hostctl.metrology.comparison.equivalent_freedom import equivalent_spread
from hostctl.metrology.spread.rig import Spread
from hostctl.report.analysis.judgement import Result
from hostctl.report.document.reasons import Withheld

if TYPE_CHECKING:
    from hostctl.metrology.comparison.equivalence import Equivalence
    from hostctl.metrology.comparison.interaction import SpreadInteraction

ALPHA = 0.05
SEED = 20_251_125  # of the shuffles, so that the same readings give the same figures
_FEWEST_IN_BLOCK = 3
_MANY = 20_000  # settings above which shuffling would take long and adds nothing

Standing = Literal["larger", "smaller", "alike", "cannot tell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two spreads: first over second. varied: what differs; fixed: what both share.

    adjusted_p: of `test`, allowing for there being several comparisons of its kind (Holm).
    """

    varied: Literal["method", "operator"]
    fixed: str
    first: str
    second: str
    ratio: Estimate | NotYet
    test: Significance | NotYet
    adjusted_p: float | NotYet
    equivalence: "Equivalence | NotYet"

    @property
    def standing(self) -> Standing:
        """How the first stands to the second; alike goes first, as it is what matters."""
        if not isinstance(self.equivalence, NotYet) and self.equivalence.equivalent:
            return "alike"
        if isinstance(self.adjusted_p, NotYet) or isinstance(self.ratio, NotYet):
            return "cannot tell"
        if self.adjusted_p > ALPHA:
            return "cannot tell"
        return "larger" if self.ratio.value > 1.0 else "smaller"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """A method against the steadiest one, in each operator's hands."""

    method: str
    baseline: str
    found: "SpreadInteraction | NotYet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """All comparisons of a study. test: does the order of methods depend on whose hands."""

    margin: float
    pairs: tuple[Comparison, ...]
    hands: tuple[Hands, ...]
    test: Significance | NotYet | None


def compared(results: Sequence[Result], reference: Reference, margin: float) -> Compared:
    """Every comparison there is."""
    methods = list(dict.fromkeys(result.method for result in results))
    operators = list(dict.fromkeys(result.operator for result in results))
    by_method = list(_pairs(results, "method", operators, reference, margin))
    by_operator = list(_pairs(results, "operator", methods, reference, margin))
    full = min(len(methods), len(operators)) > 1 and len(results) == len(methods) * len(operators)
    return Compared(
        margin=margin,
        pairs=(*_adjusted(by_method), *_adjusted(by_operator)),
        hands=tuple(_hands(results, methods, operators, margin)) if full else (),
        test=_interaction(results, reference) if full else None,
    )


def _pairs(
    results: Sequence[Result],
    varied: Literal["method", "operator"],
    fixed: Sequence[str],
    reference: Reference,
    margin: float,
) -> Iterator[Comparison]:
    from hostctl.metrology.comparison.spread_ratio import sd_equivalence, sd_ratio

    for name in fixed:
        mine = [r for r in results if (r.operator if varied == "method" else r.method) == name]
        spreads = [(result, _spread(result)) for result in mine]
        for (one, first), (other, second) in combinations(spreads, 2):
            ratio: Estimate | NotYet
            equivalence: Equivalence | NotYet
            if isinstance(first, NotYet) or isinstance(second, NotYet):
                reason = first if isinstance(first, NotYet) else second
                assert isinstance(reason, NotYet)
                ratio = equivalence = reason
            else:
                ratio = sd_ratio(first, second)
                equivalence = sd_equivalence(first, second, margin, ALPHA)
            test = _test(one, other, reference)
            yield Comparison(
                varied=varied,
                fixed=name,
                first=getattr(one, varied),
                second=getattr(other, varied),
                ratio=ratio,
                test=test,
                adjusted_p=1.0 if isinstance(test, Significance) else test,
                equivalence=equivalence,
            )


def _adjusted(pairs: Sequence[Comparison]) -> Iterator[Comparison]:
    """Methods among themselves are one family of questions, hands another."""
    known = [pair.test.p_value for pair in pairs if isinstance(pair.test, Significance)]
    rest = iter(holm(known))
    for pair in pairs:
        tested = isinstance(pair.test, Significance)
        yield replace(pair, adjusted_p=next(rest)) if tested else pair


def _spread(result: Result) -> Spread | NotYet:
    if isinstance(result.spread, NotYet):
        return result.spread
    return equivalent_spread(result.spread)


def _settings(result: Result, reference: Reference) -> list[tuple[str, Readings]]:
    """Point and settings of each block that is long enough to show a spread."""
    found = [(b.point, settings_of(b.values_mm, reference)) for b in result.blocks]
    return [(point, values) for point, values in found if len(values) >= _FEWEST_IN_BLOCK]


def _test(one: Result, other: Result, reference: Reference) -> Significance | NotYet:
    import numpy as np

    from hostctl.metrology.comparison.spread_permutation import Block, spread_permutation_test
    from hostctl.metrology.comparison.spread_tests import brown_forsythe

    groups = [_settings(result, reference) for result in (one, other)]
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
    results: Sequence[Result], methods: Sequence[str], operators: Sequence[str], margin: float
) -> Iterator[Hands]:
    """Each method against the one with the smallest spread over all hands."""
    from hostctl.metrology.comparison.interaction import spread_interaction

    spreads = {(r.method, r.operator): _spread(r) for r in results}
    known = {key: s for key, s in spreads.items() if isinstance(s, Spread) and s.s > 0.0}
    whole = [m for m in methods if all((m, operator) in known for operator in operators)]
    if not whole:
        return
    steadiest = min(whole, key=lambda m: prod(known[m, operator].s for operator in operators))
    for method in methods:
        if method == steadiest:
            continue
        if method not in whole:
            yield Hands(
                method=method,
                baseline=steadiest,
                found=NotYet(reason=Reason(Withheld.BOUND_IN_SOME_HANDS)),
            )
            continue
        found = spread_interaction(
            {operator: known[method, operator] for operator in operators},
            {operator: known[steadiest, operator] for operator in operators},
            margin,
        )
        yield Hands(method=method, baseline=steadiest, found=found)


def _interaction(results: Sequence[Result], reference: Reference) -> Significance | NotYet:
    import numpy as np

    from hostctl.metrology.comparison.interaction_permutation import interaction_permutation

    cells = {
        (r.operator, r.method): [list(values) for _, values in _settings(r, reference)]
        for r in results
    }
    if sum(len(values) for blocks in cells.values() for values in blocks) > _MANY:
        return NotYet(reason=Reason(Withheld.TOO_MANY_TO_SHUFFLE))
    if not all(cells.values()):
        return NotYet(reason=Reason(Withheld.BLOCKS_TOO_SHORT, least=_FEWEST_IN_BLOCK))
    try:
        return interaction_permutation(cells, np.random.default_rng(SEED))
    except NotEnough as why:
        return NotYet(reason=why.reason)
