"""The tie behind the gaps, as it is told."""

from hostctl.metrology.basis.estimate import Estimate
from hostctl.report.sources.tied import Tied
from hostctl.report.trueness.result import Span, TieAtPoint, TieCheck, TieFound

_HOW_TIED = "likelihood of the intervals in which each observation has it, and what they can't show"
_SOURCE_TIED = "JCGM 100:2008, 4.3 and 5; Student 1908, Biometrika 6, 1-25"


def tie_found(tied: Tied) -> TieFound:
    """Its constants, point by point, and what its checks found."""
    beds_c = tied.ties_bed_c
    return TieFound(
        by=tied.by,
        target_mm=tied.target_mm,
        points=tuple(
            TieAtPoint(
                point=one.point,
                part=one.part,
                observed=one.observed,
                middle_mm=one.middle_mm,
                width_mm=one.width_mm,
                constant=Estimate(
                    value=one.known.value,
                    interval=one.known.interval,
                    n=one.observed,
                    how=_HOW_TIED,
                    source=_SOURCE_TIED,
                ),
            )
            for one in tied.constants
        ),
        beyond_mm=tied.beyond_mm,
        guides_mm=tied.guides_mm,
        slack_mm=tied.slack_mm,
        checks=tuple(
            TieCheck(
                point=one.point,
                at_trial=one.at_trial,
                shift_mm=one.shift_mm,
                limit_mm=one.limit_mm,
                moved=one.moved,
            )
            for one in tied.checks
        ),
        unchecked=tied.unchecked,
        bed_c=None if beds_c is None else _span(beds_c),
        settings_bed_c=None if tied.settings_bed_c is None else _span(tied.settings_bed_c),
        is_stale=tied.is_stale,
    )


def _span(ends: tuple[float, float]) -> Span:
    return Span(low=ends[0], high=ends[1])
