"""How far more settings would take a spread, by the exact law of s."""

from collections.abc import Sequence

from hostctl.metrology.basis.estimate import Estimate
from hostctl.metrology.claims.planning import precision_of_sd
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.result.judgement import MethodResult
from hostctl.report.whole.result import Foresight, SpreadAfter

SETTINGS = (3, 10, 30, 100)


def foresight_of(results: Sequence[MethodResult], largest: int | None) -> Foresight:
    """largest: the place of the largest spread, whose s it is reckoned from."""
    spread = None if largest is None else results[largest].spread
    s_mm = None
    if isinstance(spread, RoundedSpread) and isinstance(spread.quoted, Estimate):
        s_mm = spread.quoted.value
    return Foresight(
        result=None if s_mm is None else largest,
        s_mm=s_mm,
        after=tuple(_after(settings, s_mm) for settings in SETTINGS),
    )


def _after(settings: int, s_mm: float | None) -> SpreadAfter:
    found = precision_of_sd(settings)
    return SpreadAfter(
        settings=settings,
        low=found.low,
        high=found.high,
        low_mm=None if s_mm is None else found.low * s_mm,
        high_mm=None if s_mm is None else found.high * s_mm,
    )
