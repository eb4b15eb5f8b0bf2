"""The budget file: what is measured, and everything that makes it doubtful.

configs/budgets/indicator-on-head.yaml explains every key beside an example.
"""

from collections import Counter
from collections.abc import Iterator
from typing import Annotated

from pydantic import Field, field_validator

from hostctl.config.budgets.contributions import Contribution, Label, Other, Part
from hostctl.config.budgets.formula import Formula, formula_from
from hostctl.config.checked import Checked, Told
from hostctl.config.load import FileMistakes, check, nearest
from hostctl.config.yaml_text import Key, Source, parse
from hostctl.errors import ConfigError


class Correlation(Checked):
    """Pairs of contributions whose errors hang together."""

    between: Annotated[list[Label], Field(min_length=2, max_length=2)]
    """Their names."""
    r: Annotated[float, Field(ge=-1, le=1, allow_inf_nan=False), Told(unit="plain number")]
    """The coefficient of correlation."""


class ValueLimits(Checked):
    """What the measurand may be."""

    lower: Annotated[
        float | None,
        Field(allow_inf_nan=False),
        Told(unit="in the unit of the result", left_out="none"),
    ] = None
    """The least that is accepted."""
    upper: Annotated[
        float | None,
        Field(allow_inf_nan=False),
        Told(unit="in the unit of the result", left_out="none"),
    ] = None
    """The most that is accepted."""


class BudgetFile(Checked):
    """The whole file."""

    measurand: Annotated[str, Field(min_length=1, max_length=80)]
    """What is measured, in words."""
    unit: Annotated[str, Field(min_length=1, max_length=10)] = "mm"
    """Of the result; anything but mm takes `other` contributions alone."""
    confidence: Annotated[float, Field(gt=0.5, le=0.999), Told(unit="share")] = 0.95
    """Of the interval that comes out."""
    model: Annotated[
        str | None, Told(allowed="a formula", left_out="the sum, each times its sensitivity")
    ] = None
    """The measurand as a formula of the contributions' names: numbers, brackets, `+`, `-`, `*`,
    `/`, `**`, `sqrt`, `exp`, `log`, `sin`, `cos`, `tan`."""
    contributions: Annotated[list[Contribution], Field(min_length=1)]
    correlations: list[Correlation] = Field(default_factory=list)
    limits: ValueLimits | None = None
    """Between which the measurand has to lie: it is judged with a guard band (ISO 14253-1)."""

    @field_validator("model")
    @classmethod
    def _readable(cls, text: str | None) -> str | None:
        if text is not None:
            formula_from(text)
        return text

    @property
    def formula(self) -> Formula | None:
        """The model, taken apart."""
        return None if self.model is None else formula_from(self.model)

    @property
    def gives_value(self) -> bool:
        """Whether it gives the measurand itself, not merely corrections to a reading."""
        return self.formula is not None or any(
            part.value for part in self.parts if isinstance(part, Other)
        )

    @property
    def parts(self) -> list[Part]:
        """The contributions, in the file's order."""
        return [entry.part for entry in self.contributions]


def budget_from(source: Source) -> BudgetFile:
    """A budget from its text. Raises ConfigError (FileMistakes when there are several)."""
    budget = check(BudgetFile, source)
    document = parse(source)
    mistakes = [
        ConfigError(document.at(path), what, next_step)
        for path, what, next_step in _misfits(budget)
    ]
    if mistakes:
        raise FileMistakes(mistakes)
    return budget


Misfit = tuple[tuple[Key, ...], str, str]


def _misfits(budget: BudgetFile) -> Iterator[Misfit]:
    names = [part.name for part in budget.parts]
    yield from _part_misfits(budget, names)
    yield from _correlation_misfits(budget, names)
    yield from _formula_misfits(budget, names)
    if budget.limits is not None:
        yield from _limit_misfits(budget, budget.limits)


def _limit_misfits(budget: BudgetFile, limits: ValueLimits) -> Iterator[Misfit]:
    lower, upper = limits.lower, limits.upper
    if lower is None and upper is None:
        yield ("limits",), "limits: neither is given", "Give lower, upper or both."
    if lower is not None and upper is not None and lower >= upper:
        what = f"limits.lower: {lower:g} is not below the upper limit, {upper:g}"
        yield ("limits", "lower"), what, "Give the smaller one as lower."
    if not budget.gives_value:
        what = "limits: the file gives no value to be judged"
        yield ("limits",), what, "Give a contribution of kind 'other' its value, or a model."


def _part_misfits(budget: BudgetFile, names: list[str]) -> Iterator[Misfit]:
    counted = Counter(names)
    for index, part in enumerate(budget.parts):
        path: tuple[Key, ...] = ("contributions", index)
        if counted[part.name] > 1 and index > names.index(part.name):
            what = f"contributions.{index + 1}: another one is called '{part.name}' too"
            yield path, what, "Give it a 'name:' of its own."
        if not isinstance(part, Other) and budget.unit != "mm":
            what = f"contributions.{index + 1}: {part.name} is in mm, the budget in {budget.unit}"
            yield path, what, "Give 'unit: mm', or use 'other'."
        if isinstance(part, Other) and part.sensitivity is not None and budget.model is not None:
            what = f"contributions.{index + 1}: a sensitivity is given, and a model too"
            yield (*path, "other", "sensitivity"), what, "Keep one; the model gives it."


def _correlation_misfits(budget: BudgetFile, names: list[str]) -> Iterator[Misfit]:
    for index, pair in enumerate(budget.correlations):
        path = ("correlations", index)
        for name in pair.between:
            if name not in names:
                what = f"correlations.{index + 1}: no contribution is called '{name}'"
                yield path, what, nearest(name, names)
        if pair.between[0] == pair.between[1]:
            yield path, f"correlations.{index + 1}: is between one and itself", "Name two."


def _formula_misfits(budget: BudgetFile, names: list[str]) -> Iterator[Misfit]:
    if budget.formula is None:
        return
    for name in sorted(budget.formula.names - set(names)):
        yield ("model",), f"model: no contribution is called '{name}'", nearest(name, names)
    for index, name in enumerate(names):
        if name not in budget.formula.names:
            what = f"contributions.{index + 1}: the model has no '{name}'"
            yield ("contributions", index), what, "Add it to the model, with its sign."
