"""What is odd in an axis test, with the targets it is of."""

from collections.abc import Sequence

from hostctl.metrology.geometry.axis_oddities import Side, far_off, passes_together
from hostctl.report.kinds.axis.result import FarFound, TogetherFound


def far_found(
    targets_mm: Sequence[float], up: Side, down: Side, resolution_mm: float
) -> tuple[FarFound, ...]:
    """Positions far from the others at their target and side. up, down: deviations."""
    return tuple(
        FarFound(
            target_mm=targets_mm[one.target],
            coming_from="below" if one.rising else "above",
            run=one.run + 1,
            off_mm=float(one.off),
            spread_mm=one.spread,
        )
        for one in far_off(up, down, resolution_mm)
    )


def together_found(up: Side, down: Side, resolution_mm: float) -> TogetherFound | None:
    """Scatter that a whole pass shares."""
    found = passes_together(up, down, resolution_mm)
    if found is None:
        return None
    return TogetherFound(spread_mm=found.spread, rest_mm=found.rest, p=found.p)
