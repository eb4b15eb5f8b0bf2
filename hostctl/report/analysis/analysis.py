"""Readings judged, and analysed: the one way from material to what is said of it."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import Estimate, NotEnough
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.judgement import Judged, Rig, judged, rig_of
from hostctl.report.analysis.oddities import oddities
from hostctl.report.analysis.result.judgement import (
    FewSettings,
    Judgement,
    Look,
    MethodResult,
    Source,
    Verdict,
)
from hostctl.report.analysis.result.oddities import Oddities
from hostctl.report.analysis.result.rows import RowSeen
from hostctl.report.analysis.sums.as_read import is_target_wanted
from hostctl.report.analysis.sums.rows import centred, inside_of, rows_of
from hostctl.report.document.reasons import error_words
from hostctl.report.sources.looks import UNRECORDED, Looking, keep
from hostctl.report.sources.material import Goal, Material
from hostctl.report.sources.sample import samples_of

if TYPE_CHECKING:
    from hostctl.report.analysis.result.analysis import Analysis
    from hostctl.report.analysis.result.comparison import Compared
    from hostctl.report.analysis.result.crossed import Crossed
    from hostctl.report.analysis.result.means import Bias
    from hostctl.report.analysis.result.workshops import BetweenWorkshops
    from hostctl.report.trueness.result import TieFound

Found = TypeVar("Found", bound=Judgement)

FEWEST_FOR_AN_ESTIMATE, FEW = 5, 10  # 36 % and 24 % uncertain, JCGM 100:2008 table E.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How to analyse. goal: goes before the study's own.  margin: the ratio of two spreads up to
    which they count as equally good.  look: the one that this is."""

    goal: Goal | None = None
    margin: float = 1.5
    look: Looking = UNRECORDED


def judge(material: Material, rig: Material | None, wish: Wish) -> Judgement:
    """Each method in each pair of hands. rig: the rig check to take out.

    Raises DataError where nothing can be said.
    """
    return _judged(material, rig, wish)[0]


def analyse(material: Material, rig: Material | None, wish: Wish) -> "Analysis":
    """The same, and all that can be told of them together. Raises as `judge`."""
    from hostctl.report.analysis.result.analysis import Analysis

    judgement, samples, known, odd = _judged(material, rig, wish)
    within_mm = judgement.goal.within_mm if judgement.goal else None
    return Analysis(
        **{field.name: getattr(judgement, field.name) for field in fields(judgement)},
        compared=_compared(samples, known, wish.margin),
        biases=_biases(samples, material, within_mm),
        oddities=odd,
        crossed=_crossed(samples, material, within_mm),
        workshops=_workshops(samples, material),
    )


def _judged(
    material: Material, rig: Material | None, wish: Wish
) -> tuple[Judgement, Sequence[Judged], Rig | None, tuple[Oddities, ...]]:
    goal = wish.goal or material.goal
    known = _rig(rig) if rig is not None and not material.nobody_set else None
    try:
        samples = [
            judged(sample, material, known, goal=goal, looks=wish.look.looks)
            for sample in samples_of(material)
        ]
    except (NotEnough, ValueError) as why:
        says = error_words(why)
        raise DataError(material.name, says, "Check the readings and the tolerance.") from why
    odd = oddities(samples)
    results, rows = _seen(_in_order(samples, odd), samples, material, goal)
    smallest, largest = _smallest_and_largest(results)
    judgement = Judgement(
        source=_source(material),
        unit="mm",
        goal=goal,
        look=_look(wish.look) if goal is not None or any(one.trueness for one in samples) else None,
        rig=known.told if known else None,
        rig_wanted=not material.nobody_set,
        target_wanted=is_target_wanted(material, goal),
        results=results,
        smallest=smallest,
        largest=largest,
        few=_few(results),
        rows=rows,
        tie=_tie(material),
        trueness=tuple(one.trueness for one in samples if one.trueness is not None),
    )
    return judgement, samples, known, odd


def _tie(material: Material) -> "TieFound | None":
    """Loaded only where there is one."""
    if material.tied is None:
        return None
    from hostctl.report.trueness.tie import tie_found

    return tie_found(material.tied)


def _in_order(judged: Sequence[Judged], odd: Sequence[Oddities]) -> tuple[MethodResult, ...]:
    """Each result, with what shows in the order of its settings."""
    shows = {(found.method, found.operator): found.order_shows for found in odd}
    return tuple(
        replace(one, order_shows=shows.get((one.method, one.operator), ()))
        for one in (each.result for each in judged)
    )


def _seen(
    results: Sequence[MethodResult],
    judged: Sequence[Judged],
    material: Material,
    goal: Goal | None,
) -> tuple[tuple[MethodResult, ...], tuple[RowSeen, ...]]:
    """Each result with how many lay within the tolerance, and how all of them lie.

    Successive differences are no settings, so none of them lies in it or outside.
    """
    within_mm = goal.within_mm if goal and material.reference != "previous" else None
    blocks = centred([each.sample for each in judged], results)
    rows = rows_of(blocks, within_mm, material.resolution_mm)
    if within_mm is None:
        return tuple(results), rows
    pairs = zip(results, rows, strict=True)
    return tuple(replace(one, inside=inside_of(row)) for one, row in pairs), rows


def kept(
    found: Found, material: Material, look: Looking, database: Path | None, at: datetime
) -> Found:
    """The same, its look put on record where a verdict was given; it says so where it can't be."""
    if found.look is None or not _is_judged(found):
        return found
    why = keep(database, material.seen, look, at)
    if why is None:
        return found
    return replace(found, look=replace(found.look, recorded=look.earlier, unrecorded=why))


def _is_judged(found: Judgement) -> bool:
    """Whether anything was judged that spends of the risk."""
    return any(isinstance(one.verdict, Verdict) for one in found.results) or any(
        one.judged_by is not None for one in found.trueness
    )


def noted(found: Found, notes: Sequence[str]) -> Found:
    """The same, with more that a reader must know of the source."""
    source = replace(found.source, notes=(*notes, *found.source.notes)) if notes else found.source
    return replace(found, source=source)


def _look(look: Looking) -> Look:
    looks = look.looks
    given = looks.share > 0.0
    return Look(
        number=looks.number,
        declared=looks.declared,
        too_late=look.too_late,
        share=looks.share,
        left=max(1.0 - looks.spent - looks.share, 0.0) if looks.next.share > 0.0 else 0.0,
        recorded=None if look.earlier is None else look.earlier + given,
        unrecorded=None,
    )


def _source(material: Material) -> Source:
    return Source(
        name=material.name,
        title=material.title,
        kind=material.kind,
        machine=material.machine or None,
        reference=material.counts_from,
        zero_known=material.zero_known,
        own_zeros=material.own_zeros,
        nobody_set=material.nobody_set,
        resolution_mm=material.resolution_mm,
        resolution_from=material.resolution_from,
        readings=material.readings,
        notes=material.notes,
    )


def _smallest_and_largest(results: Sequence[MethodResult]) -> tuple[int | None, int | None]:
    """By the figure, or where only a bound is known, that bound."""
    reach: dict[int, float] = {}
    for place, result in enumerate(results):
        if isinstance(result.spread, RoundedSpread):
            quoted = result.spread.quoted
            bound = result.spread.interval.high
            reach[place] = quoted.value if isinstance(quoted, Estimate) else bound
    ranked = sorted(reach, key=reach.__getitem__)
    return (ranked[0], ranked[-1]) if ranked else (None, None)


def _few(results: Sequence[MethodResult]) -> FewSettings | None:
    spreads = [result.spread for result in results if isinstance(result.spread, RoundedSpread)]
    fewest = min((one.n for one in spreads if isinstance(one.quoted, Estimate)), default=FEW)
    if fewest >= FEW:
        return None
    return FewSettings(settings=fewest, hardly_an_estimate=fewest < FEWEST_FOR_AN_ESTIMATE)


def _compared(samples: Sequence[Judged], rig: Rig | None, margin: float) -> "Compared | None":
    """Loaded only where there are several, as are the next."""
    if len(samples) < 2:
        return None
    from hostctl.report.analysis.comparison import compared

    return compared(samples, rig.evidence if rig else None, margin)


def _biases(
    samples: Sequence[Judged], material: Material, within_mm: float | None
) -> "tuple[Bias, ...]":
    if len(samples) < 2 or not material.zero_known:
        return ()
    from hostctl.report.analysis.bias import biases

    return biases(samples, within_mm)


def _crossed(
    samples: Sequence[Judged], material: Material, within_mm: float | None
) -> "tuple[Crossed, ...]":
    if len(samples) < 2:
        return ()
    from hostctl.report.analysis.crossed_study import crossed_studies

    return crossed_studies(samples, material, within_mm)


def _workshops(samples: Sequence[Judged], material: Material) -> "tuple[BetweenWorkshops, ...]":
    if not any(block.workshop for block in material.blocks):
        return ()
    from hostctl.report.analysis.workshops import between_workshops

    return between_workshops(samples, material)


def _rig(rig: Material) -> Rig:
    try:
        return rig_of(rig)
    except NotEnough as why:
        says = error_words(why)
        raise DataError(rig.name, says, "Give another rig check: --rig RUN|FILE") from why
