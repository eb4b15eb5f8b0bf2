"""The true gap as a figure: settings about the gap wanted, their mean, the tie's part in it."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from hostctl.metrology.basis.estimate import Estimate
from hostctl.report.document.blocks import Figure
from hostctl.report.document.significant import Lengths, stated_mm
from hostctl.report.figures.dots.row import DotRow, Dots
from hostctl.report.figures.gap.gaps import GapRow, MeanBar
from hostctl.report.figures.gap.true_gap import TrueGap
from hostctl.report.trueness.result import TieFound, Trueness

_NORMALLY = 1.96  # standard deviations to either side that hold 95 %
_DIGITS = 9  # of a mm: finer are only what binary fractions add


def true_gap_figure(
    rows: Sequence[DotRow],
    found: Sequence[Trueness],
    tie: TieFound,
    *,
    step_mm: float,
    within_mm: float | None,
    words: Lengths,
) -> Figure:
    """rows: by the distance of each setting from what its method is meant to set, one for each of
    `found`.  step_mm: a graduation, or several.  within_mm: the tolerance; None without."""
    margin_mm = found[0].margin_mm if found else None
    drawing = TrueGap(
        rows=tuple(_row(row, one, words) for row, one in zip(rows, found, strict=True)),
        step_mm=step_mm,
        target_mm=tie.target_mm,
        margin_mm=margin_mm,
        within_mm=within_mm,
        tie=_tie_alone(tie),
    )
    return Figure(
        drawing=drawing, says=" ".join(_seen(rows, found, tie, within_mm)), name="true-gap"
    )


def _row(row: DotRow, found: Trueness, words: Lengths) -> GapRow:
    dots = tuple(
        replace(one, value_mm=round(one.value_mm + found.meant_mm, _DIGITS)) for one in row.dots
    )
    note = _note(found, words)
    return GapRow(
        readings=replace(row, dots=dots, note=note, average_mm=None),
        meant_mm=found.meant_mm,
        mean=_bar(found),
    )


def _note(found: Trueness, words: Lengths) -> str:
    """How it stands, and by how much it is off."""
    if not isinstance(found.off, Estimate):
        return found.standing
    return f"{found.standing}: {words.signed(found.off.value)} mm"


def _bar(found: Trueness) -> MeanBar | None:
    """The mean gap, and about it the tie's own interval: of one length in all rows that rest on
    the same ties, and never beyond that of the mean."""
    gap = found.mean_gap
    if not isinstance(gap, Estimate):
        return None
    tie = found.of_tie
    return MeanBar(
        value=gap.value,
        low=gap.low,
        high=gap.high,
        tie_low=gap.value if tie is None else max(gap.value + tie.low, gap.low),
        tie_high=gap.value if tie is None else min(gap.value + tie.high, gap.high),
    )


def _tie_alone(tie: TieFound) -> tuple[float, float] | None:
    """Where the target may lie by the tie that is known least; of a file, as far as was said."""
    reaches = [
        (one.constant.value - one.constant.low, one.constant.high - one.constant.value)
        for one in tie.points
    ]
    if not reaches and tie.beyond_mm:
        reaches = [(_NORMALLY * tie.beyond_mm, _NORMALLY * tie.beyond_mm)]
    if not reaches:
        return None
    below, above = max(reaches, key=sum)
    return tie.target_mm - below, tie.target_mm + above


def _seen(
    rows: Sequence[DotRow], found: Sequence[Trueness], tie: TieFound, within_mm: float | None
) -> Iterator[str]:
    yield f"Each dot is the gap of one setting, about {_wanted(found, tie)}."
    below = "Below each row its mean, with where that may lie (95 %)"
    if any(one.tie_share for one in found):
        below += (
            ", and within that the tie's own, which rows on the same tie have in common and more "
            "trials do not make smaller"
        )
    yield f"{below}."
    dots = [dots for row in rows for dots in row.dots]
    if within_mm is not None:
        yield f"{_outside(dots)} outside the tolerance of ±{within_mm:g} mm."
    if doubted := sum(one.count for one in dots if one.doubted):
        yield (
            f"Open marks, {doubted} of them, were read between the last good check of the tie and "
            "one that found that it had moved."
        )


def _outside(dots: Sequence[Dots]) -> str:
    outside, of = sum(one.count for one in dots if one.outside), sum(one.count for one in dots)
    return f"{outside or 'None'} of {of} {'lies' if outside == 1 else 'lie'}"


def _wanted(found: Sequence[Trueness], tie: TieFound) -> str:
    if all(one.meant_mm == tie.target_mm for one in found):
        return f"the {stated_mm(tie.target_mm)} mm wanted"
    return "the gap that its method is meant to set"
