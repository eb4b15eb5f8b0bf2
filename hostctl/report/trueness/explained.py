"""How far off a method is, worked out: what each figure is, and with these numbers in it."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate
from hostctl.report.document.significant import Lengths, stated_mm
from hostctl.report.trueness.result import TieFound, Trueness

_TRUENESS = (
    "How far off: the mean gap less the one meant, and where it may lie: mean and error of the "
    "tie, each drawn from its own confidence box. The tie's error is common to all that rests on "
    "it, so more trials do not make it smaller, and it drops out of differences. On target: the "
    "interval lies wholly within the margin; off target: it leaves the gap meant out, and is not "
    "wholly within the margin.",
    "ISO 5725-1:1994, 3.6, 3.7 and 3.12; JCGM 100:2008, 5 (both from memory)",
)
_TIE = (
    "Tie: each observation says between which values the constant lies, rounding in it; the "
    "interval is the wider of their likelihood's and of Student's for their far ends, with the "
    "uncertainty that repeating can't show. A check that moved begins a new constant; what was "
    "read before it, since the last good one, may rest on the old, the new, or anything between.",
    "JCGM 100:2008, 4.3; Student 1908 (from memory)",
)


def how_gaps_are_known(tie: TieFound | None) -> Iterator[tuple[str, str]]:
    """What each kind of figure is, and whose method it is; nothing without a tie."""
    if tie is not None:
        yield _TRUENESS
    if tie is not None and tie.by:
        yield _TIE


def gap_explained(found: Trueness, tie: TieFound, words: Lengths) -> Iterator[str]:
    """The sums, for one method in one pair of hands."""
    gap = found.mean_gap
    if not isinstance(gap, Estimate) or not isinstance(found.off, Estimate):
        return
    if tie.by:
        yield (
            "gap of a setting: g = C - s r, with the tie's constant C of its point, r as read, and "
            "s = 1 where the number grows as the plunger is pressed in, else -1"
        )
    yield (
        f"mean gap {words.mm(gap.value)} mm, 95 %: {words.span(gap.interval)} mm; less the "
        f"{stated_mm(found.meant_mm)} mm meant: off by {words.signed(found.off.value)} mm, 95 %: "
        f"{words.signed(found.off.low)} to {words.signed(found.off.high)} mm"
    )
    if found.tie_share:
        settings = 1.0 - found.tie_share
        yield (
            f"  of the variance of the mean gap the tie makes {100.0 * found.tie_share:.0f} %, the "
            f"mean of the settings {100.0 * settings:.0f} %"
        )
    if found.judged_by is not None:
        judged = found.judged_by
        yield (
            f"judged at {100.0 * judged.confidence:.4g} %, this look's share of the 5 % risk: "
            f"{words.signed(judged.low)} to {words.signed(judged.high)} mm: {found.standing}"
        )
