"""The whole analysis of some material: results, comparisons, oddities, crossed studies."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from hostctl.config.study_kind import words_of
from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.report.analysis.judgement import Result, Rig, result_of, rig_of
from hostctl.report.analysis.oddities import Oddities, oddities
from hostctl.report.document.reasons import error_words
from hostctl.report.sources.material import Goal, Material

if TYPE_CHECKING:
    from hostctl.report.analysis.bias import Bias
    from hostctl.report.analysis.comparison import Compared
    from hostctl.report.analysis.crossed_study import Crossed


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How to analyse. goal: goes before the study's own.  margin: the ratio of two spreads up to
    which they count as equally good.  looks: how often, in all, the claim is to be judged."""

    goal: Goal | None = None
    margin: float = 1.5
    looks: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis:
    """Everything that was found. rig_wanted: whether a rig check should have been at hand.

    biases: mean settings compared; none where readings don't count from a datum.
    """

    material: Material
    goal: Goal | None
    looks: int
    rig: Rig | None
    rig_wanted: bool
    results: tuple[Result, ...]
    compared: "Compared | None"
    biases: "tuple[Bias, ...]"
    oddities: tuple[Oddities, ...]
    crossed: "tuple[Crossed, ...]"


def analyse(material: Material, rig: Material | None, wish: Wish) -> Analysis:
    """Analyse it. rig: the rig check to take out. Raises DataError where nothing can be said."""
    goal = wish.goal or material.goal
    rig_spread = _rig(rig) if rig is not None and not material.nobody_set else None
    samples: dict[tuple[str, str], list[int]] = {}
    for number, block in enumerate(material.blocks):
        samples.setdefault((block.method, block.operator), []).append(number)
    try:
        results = tuple(
            result_of(
                method or words_of(material.kind).nobody_sets or material.name,
                operator,
                [material.blocks[number] for number in numbers],
                material,
                rig_spread,
                goal=goal,
                looks=wish.looks,
            )
            for (method, operator), numbers in sorted(samples.items())
        )
    except (NotEnough, ValueError) as why:
        raise DataError(
            material.name, error_words(why), "Check the readings and the tolerance."
        ) from why
    return Analysis(
        material=material,
        goal=goal,
        looks=wish.looks,
        rig=rig_spread,
        rig_wanted=not material.nobody_set,
        results=results,
        compared=_compared(results, material, wish.margin),
        biases=_biases(results, material, goal),
        oddities=oddities(results, material.reference, material.resolution_mm),
        crossed=_crossed(results, material),
    )


def _compared(results: tuple[Result, ...], material: Material, margin: float) -> "Compared | None":
    """Loaded only where there are several, as is the next."""
    if len(results) < 2:
        return None
    from hostctl.report.analysis.comparison import compared

    return compared(results, material.reference, margin)


def _biases(
    results: tuple[Result, ...], material: Material, goal: Goal | None
) -> "tuple[Bias, ...]":
    if len(results) < 2 or not material.zero_known:
        return ()
    from hostctl.report.analysis.bias import biases

    return biases(results, material.resolution_mm, goal.within_mm if goal else None)


def _crossed(results: tuple[Result, ...], material: Material) -> "tuple[Crossed, ...]":
    if len(results) < 2:
        return ()
    from hostctl.report.analysis.crossed_study import crossed_studies

    return crossed_studies(results, material)


def _rig(rig: Material) -> Rig:
    try:
        return rig_of(rig)
    except NotEnough as why:
        raise DataError(
            rig.name, error_words(why), "Give another rig check: --rig RUN|FILE"
        ) from why
