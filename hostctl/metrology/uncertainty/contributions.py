"""What adds to the uncertainty of one reading.

An `Input` is one quantity of a budget: its best value, the law of its error about that value, and
how well that law is known (degrees of freedom). The typed contributions below are what an
indicator on a machine brings; each turns into an `Input` of what is measured, in millimetres.
"""

import math
from dataclasses import dataclass
from typing import TypeAlias

from hostctl.metrology.uncertainty.laws import (
    CosineShortfall,
    Law,
    Product,
    ScaledT,
    Triangular,
    Uniform,
    mean_cosine,
    standard_uncertainty,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input quantity: best value, law of its error, and degrees of freedom of its u.

    df: infinite where u is taken as exactly known; `doubt_df` gives it from a relative doubt.
    """

    name: str
    law: Law
    value: float = 0.0
    df: float = math.inf

    @property
    def u(self) -> float:
        """Standard uncertainty."""
        return standard_uncertainty(self.law)


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolution:
    """A last digit or graduation of `step_mm`, read in one place, or in two for a difference.

    Source: JCGM 100:2008 F.2.2.1; u = step / sqrt 12, or step / sqrt 6 for a difference.
    """

    step_mm: float
    difference: bool = False
    name: str = "resolution"

    def as_input(self) -> Input:
        law = Triangular(half_width=self.step_mm) if self.difference else None
        return Input(name=self.name, law=law or Uniform(half_width=self.step_mm / 2))


@dataclass(frozen=True, slots=True, kw_only=True)
class IndicatorError:
    """Permissible error of the indicator over the range used, as ± limit_mm.

    A table that gives a span (largest less smallest error) has half of it as the limit.
    """

    limit_mm: float
    name: str = "indicator's permissible error"

    def as_input(self) -> Input:
        return Input(name=self.name, law=Uniform(half_width=self.limit_mm))


@dataclass(frozen=True, slots=True, kw_only=True)
class TiltedStem:
    """A stem anything up to tilt_deg off the direction measured, over `travel_mm` of reading.

    True movement is indicated x cos θ, so the reading is always too large: the input's value is the
    mean correction. Exact for θ uniform within ± tilt; compare JCGM 100:2008 F.2.4.4.
    """

    travel_mm: float
    tilt_deg: float
    name: str = "tilted stem"

    def as_input(self) -> Input:
        tilt = math.radians(self.tilt_deg)
        law = CosineShortfall(length=self.travel_mm, tilt_rad=tilt)
        return Input(name=self.name, value=self.travel_mm * (mean_cosine(tilt) - 1), law=law)


@dataclass(frozen=True, slots=True, kw_only=True)
class RigRepeatability:
    """Standard deviation of the rig from a rig check, on `df`; `readings` averaged each time.

    difference: the zero, of one reading, scatters too. u = sd sqrt(1/readings, and 1 more then).
    Source: JCGM 100:2008 4.2.3.
    """

    sd_mm: float
    df: float
    readings: int = 1
    difference: bool = False
    name: str = "rig repeatability"

    def as_input(self) -> Input:
        scale = self.sd_mm * math.sqrt(1 / self.readings + self.difference)
        return Input(name=self.name, law=ScaledT(scale=scale, df=self.df), df=self.df)


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalGrowth:
    """Growth of a part `length_mm` long between zeroing and reading: length x α x ΔT.

    α and ΔT each within ± a limit of their value. The input's value is the correction, so negative
    for a part whose growth lifts the reading.
    """

    length_mm: float
    expansion_per_k: float
    expansion_limit_per_k: float
    change_k: float
    change_limit_k: float
    name: str = "thermal growth"

    def as_input(self) -> Input:
        law = Product(
            first=self.length_mm * self.expansion_per_k,
            first_half_width=self.length_mm * self.expansion_limit_per_k,
            second=self.change_k,
            second_half_width=self.change_limit_k,
        )
        return Input(name=self.name, value=-law.first * law.second, law=law)


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactForce:
    """Give of bed and mount under the plunger, whose force varies within ± limit over readings."""

    force_limit_n: float
    stiffness_n_per_mm: float
    name: str = "contact force"

    def as_input(self) -> Input:
        return Input(
            name=self.name, law=Uniform(half_width=self.force_limit_n / self.stiffness_n_per_mm)
        )


Contribution: TypeAlias = (
    Resolution
    | IndicatorError
    | TiltedStem
    | RigRepeatability
    | ThermalGrowth
    | ContactForce
    | Input
)


def as_input(contribution: Contribution) -> Input:
    """The contribution as an input of the budget; an `Input`, the general case, is one already."""
    return contribution if isinstance(contribution, Input) else contribution.as_input()


def doubt_df(relative_doubt: float) -> float:
    """Degrees of freedom of a u judged to be right within ± relative_doubt (JCGM 100 eq. G.3)."""
    return math.inf if relative_doubt == 0 else 0.5 / relative_doubt**2
