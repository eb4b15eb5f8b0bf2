"""The budget file: what is measured, and everything that makes it doubtful.

Typed contributions are what an indicator on a machine brings, in millimetres; `other` takes
anything else. configs/budgets/indicator-on-head.yaml explains every key beside an example.
"""

from collections import Counter
from collections.abc import Iterator
from typing import Annotated, Self

from pydantic import Field, field_validator, model_validator

from hostctl.config.formula import Formula, formula_from
from hostctl.config.load import FileMistakes, check, nearest
from hostctl.config.machine import Checked
from hostctl.config.yaml_text import Key, Source, parse
from hostctl.errors import ConfigError

Finite = Annotated[float, Field(allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Df = Annotated[float, Field(ge=1, allow_inf_nan=False)]
Label = Annotated[str, Field(min_length=1, max_length=40)]


class Resolution(Checked):
    """The last digit or graduation. `difference`: read twice, at the zero and at the reading."""

    step_mm: Positive
    difference: bool = False
    name: Label = "resolution"


class IndicatorError(Checked):
    """The indicator's permissible error over the range used, as plus or minus."""

    limit_mm: Positive
    name: Label = "indicator's permissible error"


class TiltedStem(Checked):
    """A stem up to `tilt_deg` off the direction measured, over `travel_mm` of reading."""

    travel_mm: Positive
    tilt_deg: Annotated[float, Field(ge=0, le=45, allow_inf_nan=False)]
    name: Label = "tilted stem"


class RigRepeatability(Checked):
    """What the rig itself scatters: given, or from a rig check on record.

    readings: how many are averaged. difference: the zero scatters as the reading does.
    """

    sd_mm: NotNegative | None = None
    df: Df | None = None
    from_run: Annotated[int, Field(ge=1)] | None = None
    readings: Annotated[int, Field(ge=1)] = 1
    difference: bool = False
    name: Label = "rig repeatability"

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        given = (self.sd_mm is not None, self.df is not None)
        if given != ((False, False) if self.from_run is not None else (True, True)):
            raise ValueError("needs either from_run, or sd_mm and df")
        return self


class ThermalGrowth(Checked):
    """Growth of a part between zeroing and reading; each figure with its plus or minus."""

    length_mm: Positive
    expansion_per_k: Finite
    expansion_limit_per_k: NotNegative = 0.0
    change_k: Finite = 0.0
    change_limit_k: NotNegative
    name: Label = "thermal growth"


class ContactForce(Checked):
    """Give of bed and mount under the plunger, whose force varies within plus or minus."""

    force_limit_n: Positive
    stiffness_n_per_mm: Positive
    name: Label = "contact force"


class InexactLimits(Checked):
    """Limits that are themselves doubtful, by plus or minus `doubt`."""

    half_width: Positive
    doubt: NotNegative

    @model_validator(mode="after")
    def _narrower(self) -> Self:
        if self.doubt > self.half_width:
            raise ValueError("doubt must not be above half_width")
        return self


LAWS = ("normal", "uniform", "triangular", "arcsine", "inexact_uniform")


class Other(Checked):
    """Any other input: its best value, and one law for its error.

    normal: a standard deviation; the others are half-widths. df: degrees of freedom of what the
    law brings; relative_doubt gives them instead, by judgement (JCGM 100 G.4.2). sensitivity: by
    how much the measurand changes when this changes by one unit.
    """

    name: Label
    value: Finite = 0.0
    unit: Annotated[str, Field(max_length=10)] | None = None  # None: the measurand's
    normal: NotNegative | None = None
    uniform: NotNegative | None = None
    triangular: NotNegative | None = None
    arcsine: NotNegative | None = None
    inexact_uniform: InexactLimits | None = None
    df: Df | None = None
    relative_doubt: Annotated[float, Field(gt=0, lt=1)] | None = None
    sensitivity: Finite | None = None

    @model_validator(mode="after")
    def _one_law(self) -> Self:
        if sum(getattr(self, law) is not None for law in LAWS) != 1:
            raise ValueError(f"needs exactly one law: {', '.join(LAWS)}")
        if self.df is not None and self.relative_doubt is not None:
            raise ValueError("takes df or relative_doubt, not both")
        return self


Part = (
    Resolution
    | IndicatorError
    | TiltedStem
    | RigRepeatability
    | ThermalGrowth
    | ContactForce
    | Other
)


class Contribution(Checked):
    """One entry of the list: exactly one of these."""

    resolution: Resolution | None = None
    indicator_error: IndicatorError | None = None
    tilted_stem: TiltedStem | None = None
    rig_repeatability: RigRepeatability | None = None
    thermal_growth: ThermalGrowth | None = None
    contact_force: ContactForce | None = None
    other: Other | None = None

    @model_validator(mode="after")
    def _exactly_one(self) -> Self:
        if len(self._given()) != 1:
            raise ValueError("must hold exactly one kind of contribution")
        return self

    def _given(self) -> list[Part]:
        every = (getattr(self, kind) for kind in type(self).model_fields)
        return [part for part in every if part is not None]

    @property
    def part(self) -> Part:
        """The one that is given."""
        return self._given()[0]


class Correlation(Checked):
    """Two contributions whose errors hang together."""

    between: Annotated[list[Label], Field(min_length=2, max_length=2)]
    r: Annotated[float, Field(ge=-1, le=1, allow_inf_nan=False)]


class BudgetFile(Checked):
    """The whole file. model: the measurand as a formula of the contributions' names."""

    measurand: Annotated[str, Field(min_length=1, max_length=80)]
    unit: Annotated[str, Field(min_length=1, max_length=10)] = "mm"
    confidence: Annotated[float, Field(gt=0.5, le=0.999)] = 0.95
    model: str | None = None
    contributions: Annotated[list[Contribution], Field(min_length=1)]
    correlations: list[Correlation] = Field(default_factory=list)

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
    for index, pair in enumerate(budget.correlations):
        path = ("correlations", index)
        for name in pair.between:
            if name not in names:
                what = f"correlations.{index + 1}: no contribution is called '{name}'"
                yield path, what, nearest(name, names)
        if pair.between[0] == pair.between[1]:
            yield path, f"correlations.{index + 1}: is between one and itself", "Name two."
    yield from _formula_misfits(budget, names)


def _formula_misfits(budget: BudgetFile, names: list[str]) -> Iterator[Misfit]:
    if budget.formula is None:
        return
    for name in sorted(budget.formula.names - set(names)):
        yield ("model",), f"model: no contribution is called '{name}'", nearest(name, names)
    for index, name in enumerate(names):
        if name not in budget.formula.names:
            what = f"contributions.{index + 1}: the model has no '{name}'"
            yield ("contributions", index), what, "Add it to the model, with its sign."
