"""What makes a figure doubtful: the kinds of contribution that a budget file may list.

Typed contributions are what an indicator on a machine brings, in millimetres; `other` takes
anything else.
"""

from typing import Annotated, Self

from pydantic import Field, model_validator

from hostctl.config.checked import Checked, Told

Finite = Annotated[float, Field(allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Df = Annotated[float, Field(ge=1, allow_inf_nan=False), Told(unit="degrees of freedom")]
Label = Annotated[str, Field(min_length=1, max_length=40)]
HalfWidth = Annotated[NotNegative, Told(unit="in its own unit")]


class Resolution(Checked):
    """The last digit or graduation that is read."""

    step_mm: Positive
    """The graduation; if you read to a fifth of one by eye, a fifth of it."""
    difference: bool = False
    """True: read twice, at the zero and at the reading."""
    name: Label = "resolution"
    """A name of its own; two contributions of a kind need different ones."""


class IndicatorError(Checked):
    """The indicator's permissible error over the part of its travel that is used."""

    limit_mm: Positive
    """Plus or minus, from its certificate; half of a largest less smallest error. JIS B 7503:2011
    allows an indicator of 0.01 mm a span of 0.005 mm over a tenth of a turn."""
    name: Label = "indicator's permissible error"
    """A name of its own; two contributions of a kind need different ones."""


class TiltedStem(Checked):
    """A stem that is not square to the bed reads too much: true movement = reading x cos(tilt)."""

    travel_mm: Positive
    """How far the reading is from the zero."""
    tilt_deg: Annotated[float, Field(ge=0, le=45, allow_inf_nan=False)]
    """At most so far off the direction measured; by eye against a square."""
    name: Label = "tilted stem"
    """A name of its own; two contributions of a kind need different ones."""


class RigRepeatability(Checked):
    """What the rig itself scatters: given by `sd_mm` and `df`, or from a rig check on record."""

    sd_mm: NotNegative | None = None
    """Standard deviation of one reading."""
    df: Df | None = None
    """Of that standard deviation: readings less one."""
    from_run: Annotated[Annotated[int, Field(ge=1)] | None, Told(unit="number of a run")] = None
    """The rig check it is taken from."""
    readings: Annotated[int, Field(ge=1), Told(unit="readings")] = 1
    """How many are averaged to one figure."""
    difference: bool = False
    """True: the zero scatters as the reading does."""
    name: Label = "rig repeatability"
    """A name of its own; two contributions of a kind need different ones."""

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        given = (self.sd_mm is not None, self.df is not None)
        if given != ((False, False) if self.from_run is not None else (True, True)):
            raise ValueError("needs either from_run, or sd_mm and df")
        return self


class ThermalGrowth(Checked):
    """Growth of a part between zeroing and reading: length x expansion x change of temperature."""

    length_mm: Positive
    """Of the part that grows."""
    expansion_per_k: Finite
    """Aluminium 23.1e-6, steel 11.5e-6."""
    expansion_limit_per_k: NotNegative = 0.0
    """Plus or minus."""
    change_k: Finite = 0.0
    """Between zero and reading, best guess."""
    change_limit_k: NotNegative
    """Plus or minus."""
    name: Label = "thermal growth"
    """A name of its own; two contributions of a kind need different ones."""


class ContactForce(Checked):
    """Bed and mount give way under the plunger, whose force varies."""

    force_limit_n: Positive
    """Plus or minus."""
    stiffness_n_per_mm: Positive
    """Of bed and mount: lean on the head with a spring balance and read the indicator."""
    name: Label = "contact force"
    """A name of its own; two contributions of a kind need different ones."""


class InexactLimits(Checked):
    """Uniform, with limits that are themselves doubtful."""

    half_width: Annotated[Positive, Told(unit="in its own unit")]
    """The limits, plus or minus."""
    doubt: HalfWidth
    """Of the limits, plus or minus; not above `half_width`."""

    @model_validator(mode="after")
    def _narrower(self) -> Self:
        if self.doubt > self.half_width:
            raise ValueError("doubt must not be above half_width")
        return self


LAWS = ("normal", "uniform", "triangular", "arcsine", "inexact_uniform")


class Other(Checked):
    """Any other input: its best value, and exactly one law for its error, `normal`, `uniform`,
    `triangular`, `arcsine` or `inexact_uniform`."""

    name: Label
    """Its name."""
    value: Annotated[Finite, Told(unit="in its own unit")] = 0.0
    """Best guess."""
    unit: Annotated[
        Annotated[str, Field(max_length=10)] | None, Told(left_out="the measurand's")
    ] = None
    """Its own unit."""
    normal: HalfWidth | None = None
    """A standard deviation."""
    uniform: HalfWidth | None = None
    """Half-width, plus or minus."""
    triangular: HalfWidth | None = None
    """Half-width, plus or minus."""
    arcsine: HalfWidth | None = None
    """Half-width, plus or minus."""
    inexact_uniform: InexactLimits | None = None
    df: Annotated[Df | None, Told(left_out="taken as exact")] = None
    """Of what the law brings."""
    relative_doubt: Annotated[Annotated[float, Field(gt=0, lt=1)] | None, Told(unit="share")] = None
    """How doubtful the law's figure is, by judgement; in place of `df` (JCGM 100 G.4.2)."""
    sensitivity: Annotated[
        Finite | None, Told(unit="of the measurand's unit per own unit", left_out="1")
    ] = None
    """By how much the measurand changes when this changes by one unit; not beside a `model`."""

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
    """The list of all that makes the measurand doubtful; each entry holds exactly one of these."""

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
