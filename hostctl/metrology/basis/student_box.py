"""The confidence box of a mean by Student's t: exact for points."""

from functools import lru_cache

from hostctl.metrology.basis.confidence_box import MESH, ConfidenceBox, Quantiles
from hostctl.metrology.basis.distributions import normal_cdf, student_t_quantile


@lru_cache(maxsize=256)
def student_mesh(df: int) -> tuple[float, ...]:
    """Student's t at the probabilities of a box's quantiles."""
    above = [student_t_quantile(normal_cdf(z), df) for z in MESH if z > 0.0]
    return (*(-t for t in reversed(above)), 0.0, *above)


def student_box(mean: float, error: float, df: int) -> ConfidenceBox:
    """The limits about a mean with this standard error.

    Source: Student, Biometrika 6, 1908, 1-25.
    """
    known = Quantiles(tuple(mean + error * t for t in student_mesh(df)))
    return ConfidenceBox(upper=known, lower=known)
