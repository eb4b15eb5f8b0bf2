"""Every observation of the ties behind a report."""

from hostctl.report.sources.tied import Tied
from hostctl.report.whole.result import TieSeen

MOST_TIES = 400
"""With more of them, they are not shown one by one."""

_DIGITS = 9  # of a mm: finer are only what binary fractions add


def ties_of(tied: Tied | None) -> tuple[TieSeen, ...]:
    """In the order taken; none where there are too many to look at one by one."""
    if tied is None or len(tied.observed) > MOST_TIES:
        return ()
    first_mm: dict[str, float] = {}
    for constant in tied.constants:
        first_mm.setdefault(constant.point, constant.known.value)
    after = {check.block: check.at_trial for check in tied.checks}
    return tuple(
        TieSeen(
            point=one.point,
            block=one.block,
            after=after.get(one.block),
            low_mm=round(one.low_mm - first_mm.get(one.point, 0.0), _DIGITS),
            high_mm=round(one.high_mm - first_mm.get(one.point, 0.0), _DIGITS),
        )
        for one in tied.observed
    )
