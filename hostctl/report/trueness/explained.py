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
    "wholly within the margin. No block of gaps has a zero of its own, so all readings are the "
    "sample: those that rest on another constant are shifted onto the graduations of the first, "
    "and their mean back. Of several points it is the mean over these that is meant.",
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


def tie_explained(tie: TieFound, words: Lengths) -> Iterator[str]:
    """How a reading becomes a gap, and the constants that make it one; nothing of a file."""
    if not tie.by:
        return
    yield (
        "gap of a setting: g = C − k r, with the tie's constant C of its point, r as read, and "
        "k = 1 where the number grows as the plunger is pressed in, else −1"
    )
    for one in tie.points:
        anew = ", made anew" if one.part > 1 else ""
        yield (
            f"C at {one.point}{anew}: n = {one.observed} observations, the mean of their middles "
            f"{words.mm(one.middle_mm)} mm, each {words.mm(one.width_mm)} mm wide; u = "
            f"{tie.beyond_mm:g} mm that repeating can't show: C = {words.mm(one.constant.value)} "
            f"mm, 95 %: {words.span(one.constant.interval)} mm"
        )
    if tie.guides_mm is not None:
        yield f"at a point without a tie: C of {tie.points[0].point} ± {tie.guides_mm:g} mm"


def gap_explained(found: Trueness, words: Lengths) -> Iterator[str]:
    """The sums, for one method in one pair of hands."""
    gap = found.mean_gap
    if not isinstance(gap, Estimate):
        return
    says = f"mean gap {words.mm(gap.value)} mm, 95 %: {words.span(gap.interval)} mm"
    if isinstance(found.off, Estimate):
        says += (
            f"; less the {stated_mm(found.meant_mm)} mm meant: off by "
            f"{words.signed(found.off.value)} mm, 95 %: {words.signed(found.off.low)} to "
            f"{words.signed(found.off.high)} mm"
        )
    yield says
    if found.tie_share:
        settings = 1.0 - found.tie_share
        yield (
            f"  of the variance of the mean gap the tie makes {100.0 * found.tie_share:.0f} %, the "
            f"mean of the settings {100.0 * settings:.0f} %"
        )
    if found.judged_by is not None and isinstance(found.off, Estimate):
        judged = found.judged_by
        yield (
            f"judged at {100.0 * judged.confidence:.4g} %, this look's share of the 5 % risk: "
            f"{words.signed(judged.low)} to {words.signed(judged.high)} mm: {found.standing}"
        )
