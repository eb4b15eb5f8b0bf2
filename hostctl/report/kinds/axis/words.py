"""Words for an axis test."""

from hostctl.metrology.basis.estimate import Interval
from hostctl.report.document.significant import TO, in_mm, significant
from hostctl.report.kinds.axis.result import AxisResult, FigureFound

NONE, NOT_SAID = "\N{EN DASH}", "not said"


def fine_mm(result: AxisResult) -> float:
    """To how many mm means are told: ten times finer than they were read."""
    return result.resolution_mm / 10


def length(result: AxisResult, value_mm: float | None) -> str:
    """A length without a sign; a stroke where there is none."""
    return NONE if value_mm is None else in_mm(value_mm, fine_mm(result)).lstrip("+")


def signed(result: AxisResult, value_mm: float | None) -> str:
    """The same with its sign."""
    return NONE if value_mm is None else in_mm(value_mm, fine_mm(result))


def may_be(interval: Interval) -> str:
    """`0.012 to 0.081`; `up to 0.081` where nothing bounds it from below."""
    if interval.low <= 0.0:
        return f"up to {significant(interval.high)}"
    return f"{significant(interval.low)} to {significant(interval.high)}"


def between(interval: Interval) -> str:
    """The same for a table."""
    return may_be(interval).replace(" to ", TO) if interval.low > 0.0 else may_be(interval)


def figure(result: AxisResult, found: FigureFound | None) -> str:
    """A figure of the standard with its interval, for a sentence."""
    if found is None:
        return "not known"
    if found.value_mm == 0.0:
        return f"within the rounding, {may_be(found.interval)} mm"
    return f"{length(result, found.value_mm)} mm ({may_be(found.interval)} mm)"


def plain(target_mm: float) -> str:
    """A target as it was given."""
    return f"{target_mm:g}".replace("-", "\N{MINUS SIGN}")
