"""Whether a tie still holds: touches before against touches after."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from hostctl.metrology.basis.distributions import student_t_quantile
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.trueness.constant import TieInterval

FALSE_ALARM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """What a check of a tie found, mm.

    shift: how much greater the constant came out after.  limit: what touches of a tie that did not
    move stay within, in 95 % of checks.  moved: the shift is beyond it.
    """

    shift: float
    limit: float
    moved: bool


def checked(before: Sequence[TieInterval], after: Sequence[TieInterval]) -> Shift:
    """Touches of one point by one rig, before and after, at least two each.

    What repeating can't show is alike in both and drops out; so does where rounding puts either, as
    long as nothing moved. Student's test of two means, with the scatter common to both, which is
    taken as no less than width / sqrt(8), that of an arcsine law on an interval (JCGM 101:2008,
    6.4.6; from memory): touches alike, at an edge, may all come out on its other side the next
    time. Nor is the limit below half a width, within which rounding can hide twice of it.
    False alarms come in at most 5 % of checks, and a tie that moved by more than twice the limit is
    noticed in at least 95 % (tests/data/trueness.md).
    Raises NotEnough for fewer.
    """
    fewer = min(len(before), len(after))
    if fewer < 2:
        raise NotEnough(Reason(Why.TOO_FEW, what="a check of a tie", given=fewer, least=2))
    earlier, later = [one.middle for one in before], [one.middle for one in after]
    shift = fmean(later) - fmean(earlier)
    squares = math.fsum((value - fmean(part)) ** 2 for part in (earlier, later) for value in part)
    df = len(earlier) + len(later) - 2
    width = fmean(one.high - one.low for one in (*before, *after))
    sd = max(math.sqrt(squares / df), width / math.sqrt(8.0))
    error = sd * math.sqrt(1.0 / len(earlier) + 1.0 / len(later))
    limit = max(student_t_quantile(1.0 - FALSE_ALARM / 2.0, df) * error, 0.5 * width)
    return Shift(shift=shift, limit=limit, moved=abs(shift) > limit)
