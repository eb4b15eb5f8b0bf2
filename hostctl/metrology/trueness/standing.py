"""Whether a mean gap is on target."""

from typing import Literal

from hostctl.metrology.basis.estimate import Interval

Standing = Literal["on target", "off target", "cannot tell"]


def standing(off: Interval, margin: float | None) -> Standing:
    """What may be said of a mean gap that is off target by something in this interval.

    On target: a margin was stated, and the interval lies wholly within it on either side.  Off
    target: the interval excludes 0, and not all of it is within the margin.  Else: cannot tell.
    A mean that is off by a proven trifle, all of it within the margin, is on target: that much is
    what the margin allows. Either is wrong in at most 5 % of studies with a 95 % interval: on
    target, of a mean beyond the margin, in about half of that; off target, of one that is on it.
    Raises ValueError for a margin not above 0.
    """
    if margin is not None and not margin > 0.0:
        raise ValueError(f"on target within {margin}: must be above 0")
    if margin is not None and -margin <= off.low and off.high <= margin:
        return "on target"
    return "cannot tell" if 0.0 in off else "off target"
