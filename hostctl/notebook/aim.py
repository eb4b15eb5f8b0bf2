"""What gap was wanted, as it is said from Python."""

from math import isfinite

from hostctl.errors import UsageError
from hostctl.metrology.basis.reference import Reference
from hostctl.report.trueness.aimed import Aim


def aim_of(
    target_mm: float | None,
    on_target_mm: float | None,
    tie_doubt_mm: float | None,
    reference: Reference | None,
) -> Aim | None:
    """What gap is said to be wanted. Raises UsageError for what can't be."""
    given = {
        "target_mm": target_mm,
        "on_target_mm": on_target_mm,
        "tie_doubt_mm": tie_doubt_mm,
    }
    for name, value in given.items():
        if value is not None and not (value > 0.0 and isfinite(value)):
            raise UsageError("hostctl.analyse", f"{name} is {value}, must be above 0", "Mend it.")
    if tie_doubt_mm is not None and target_mm is None:
        raise UsageError("hostctl.analyse", "tie_doubt_mm needs the gap wanted", "Say target_mm.")
    if target_mm is None and on_target_mm is None:
        return None
    if reference not in (None, "datum"):
        what = f"readings that count from reference {reference!r} are no gaps"
        raise UsageError("hostctl.analyse", what, "Leave one of the two out.")
    return Aim(target_mm=target_mm, margin_mm=on_target_mm, tie_u_mm=tie_doubt_mm)
