"""Workshops held against each other, as an interlaboratory experiment. numpy is loaded here.

Without a true datum a workshop's mean is that of its own zero, and only spreads are comparable.
"""

from collections.abc import Sequence

from hostctl.metrology.basis.estimate import NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.reference import settings_of
from hostctl.metrology.components.interlab import (
    REPEATED,
    Precision,
    Spreads,
    mandel_h_limit,
    mandel_k_limit,
    precision,
    spreads,
)
from hostctl.report.analysis.judgement import Judged
from hostctl.report.analysis.result.workshops import BetweenWorkshops, Reproducibility, Workshop
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.material import Material

FEWEST = 3  # with two, each is as far from their common mean as the other
ALPHA = 0.01  # beyond it the standard calls a workshop an outlier

ByWorkshop = dict[str, list[Readings]]


def between_workshops(judged: Sequence[Judged], material: Material) -> tuple[BetweenWorkshops, ...]:
    """One for each method that three workshops or more have set twice or more in some block.

    None of differences of neighbours: they share settings, and the standard's sums would not hold.
    """
    if material.reference == "previous":
        return ()
    methods = dict.fromkeys(one.sample.method for one in judged)
    found = ((method, _by_workshop(judged, method)) for method in methods)
    return tuple(
        _between(method, blocks, material) for method, blocks in found if len(blocks) >= FEWEST
    )


def _by_workshop(judged: Sequence[Judged], method: str) -> ByWorkshop:
    found: ByWorkshop = {}
    for one in judged:
        if one.sample.method == method:
            for block in one.sample.blocks:
                settings = settings_of(block.values_mm, one.sample.reference)
                if len(settings) > 1:
                    found.setdefault(block.workshop, []).append(settings)
    return found


def _between(method: str, blocks: ByWorkshop, material: Material) -> BetweenWorkshops:
    within = spreads(blocks)
    means = _means(blocks, material)
    return BetweenWorkshops(
        method=method,
        workshops=tuple(
            _workshop(at, name, blocks[name], within, means) for at, name in enumerate(blocks)
        ),
        repeatability_mm=within.s_r,
        repeatability_limit_mm=REPEATED * within.s_r,
        reproducibility=means if isinstance(means, NotYet) else _reproducibility(means),
        k_limit=_k_limit(within),
        h_limit=None
        if isinstance(means, NotYet) or isinstance(means.h, NotYet)
        else mandel_h_limit(len(blocks), ALPHA),
    )


def _means(blocks: ByWorkshop, material: Material) -> Precision | NotYet:
    if material.own_zeros or not material.zero_known:
        return NotYet(reason=Reason(Withheld.NOT_ONE_DATUM))
    if any(len(mine) > 1 for mine in blocks.values()):
        return NotYet(reason=Reason(Withheld.SEVERAL_BLOCKS_A_WORKSHOP))
    return precision({name: settings for name, (settings,) in blocks.items()})


def _workshop(
    at: int, name: str, blocks: Sequence[Readings], within: Spreads, means: Precision | NotYet
) -> Workshop:
    return Workshop(
        name=name,
        settings=sum(map(len, blocks)),
        s_mm=within.sds[at],
        k=None if isinstance(within.k, NotYet) else within.k[at],
        mean_mm=None if isinstance(means, NotYet) else means.means[at],
        off_mm=None if isinstance(means, NotYet) else means.means[at] - means.mean,
        h=None if isinstance(means, NotYet) or isinstance(means.h, NotYet) else means.h[at],
    )


def _reproducibility(means: Precision) -> Reproducibility:
    return Reproducibility(
        mean_mm=means.mean,
        between_mm=means.s_l,
        reproducibility_mm=means.s_R,
        limit_mm=means.reproducibility_limit,
    )


def _k_limit(within: Spreads) -> float | None:
    """k depends on degrees of freedom alone: so many readings of one block have as many."""
    if isinstance(within.k, NotYet) or len(set(within.dfs)) > 1:
        return None
    return mandel_k_limit(len(within.dfs), within.dfs[0] + 1, ALPHA)
