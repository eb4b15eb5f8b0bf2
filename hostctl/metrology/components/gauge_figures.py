"""The figures of a gauge study: EV, AV, GRR, PV, TV, their shares, and distinct categories.

Source: AIAG, Measurement Systems Analysis, 4th ed. (2010), chapter III, section B. Each standard
deviation is one sigma. A part here may be a point of the bed.
"""

import math
from dataclasses import dataclass

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reason import Reason, Why

_SIGMAS = 6.0  # the width a share of the tolerance is reckoned with


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeFigures:
    """Standard deviations of a gauge study, all in the readings' unit.

    ev: equipment variation (repeatability). av: appraiser variation (reproducibility), without the
    interaction. interaction: operators x parts. pv: part variation.
    """

    ev: float
    av: float
    interaction: float
    pv: float

    @property
    def grr(self) -> float:
        """Repeatability and reproducibility together."""
        return math.hypot(self.ev, self.av, self.interaction)

    @property
    def tv(self) -> float:
        """Total variation."""
        return math.hypot(self.grr, self.pv)

    def percent_of_total(self, sd: float) -> float | NotYet:
        """One of the figures as per cent of the total variation (per cent study variation)."""
        if self.tv == 0.0:
            return NotYet(reason=Reason(Why.NOTHING_VARIES))
        return 100.0 * sd / self.tv

    def percent_of_tolerance(self, sd: float, tolerance: float) -> float:
        """Six times one of the figures as per cent of the whole width of the tolerance.

        Raises ValueError for a tolerance not above 0.
        """
        if not tolerance > 0.0:
            raise ValueError(f"the width of the tolerance is {tolerance}, must be above 0")
        return 100.0 * _SIGMAS * sd / tolerance

    @property
    def ndc_value(self) -> float:
        """Distinct categories before cutting: 1.41 PV / GRR; infinite where GRR is 0."""
        if self.grr == 0.0:
            return math.inf if self.pv else 0.0
        return 1.41 * self.pv / self.grr

    @property
    def ndc(self) -> int | NotYet:
        """Number of distinct categories, cut to a whole number as the manual does, at least 1."""
        if math.isinf(self.ndc_value):
            return NotYet(reason=Reason(Why.MEASURING_SHOWS_NOTHING))
        return max(1, int(self.ndc_value))


@dataclass(frozen=True, slots=True, kw_only=True)
class Components:
    """Variance components as standard deviations with intervals, all in the readings' unit.

    `interaction` is None where pooled or not to be told from repeatability.
    """

    repeatability: Estimate
    operator: Estimate
    interaction: Estimate | None
    part: Estimate
    grr: Estimate
    total: Estimate

    @property
    def figures(self) -> GaugeFigures:
        """EV, AV, GRR, PV, TV and their shares."""
        return GaugeFigures(
            ev=self.repeatability.value,
            av=self.operator.value,
            interaction=self.interaction.value if self.interaction else 0.0,
            pv=self.part.value,
        )
