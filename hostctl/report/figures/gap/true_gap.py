"""Each setting's gap about the gap that was wanted, and how well the mean of a row is known."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from math import isfinite
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import in_mm, short_number
from hostctl.report.figures.dots.in_text import (
    DOUBTED,
    DOUBTED_OUTSIDE,
    LIMIT,
    OUTSIDE,
    beside,
    can_be_stacked,
    grounded,
    heaps_of,
    height_of_profiles,
    profile,
    stacked_lines,
)
from hostctl.report.figures.dots.row import Dots
from hostctl.report.figures.gap.gaps import GapRow, MeanBar
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.scale import Scale, off_the_scale, readable

THE_TIE = "the tie alone"
WANTED, MARGIN, MEAN, TIES_PART = "│", "░", "●", "━"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueGap:
    """At least one row, on one scale of gap in mm.

    step_mm: a graduation, or several where they would be too many.  target_mm: the gap wanted;
    rows may be meant to set another.  margin_mm: a mean no further off is on target; None: not
    stated.  within_mm: the tolerance of a setting; None without.
    tie: where the target may lie by the tie alone, from and to; None where that is not known.
    """

    kind: ClassVar[str] = "true gap"
    rows: tuple[GapRow, ...]
    step_mm: float
    target_mm: float
    margin_mm: float | None
    within_mm: float | None
    tie: tuple[float, float] | None

    def in_text(self) -> str:
        """A row its dots, and below them its mean with its interval."""
        tall = height_of_profiles(len(self.rows))
        dotted = [row.readings for row in self.rows]
        names = [name for row in dotted for name in (row.label, row.head * (tall > 1))]
        left = terminal.label_width([*names, THE_TIE])
        notes = terminal.label_width([row.note for row in dotted], terminal.room_for_notes(left))
        room = terminal.WIDTH - left - notes - 4
        scale, width = terminal.on_columns(self.scale(), self.step_mm, room)
        heaps = [heaps_of(row.dots, scale, width) for row in dotted]
        stacked = can_be_stacked(heaps)
        out: list[str] = []
        for row, heap in zip(self.rows, heaps, strict=True):
            drawn = stacked_lines(heap, width) if stacked else profile(heap, width, tall)
            limits = _about(row.meant_mm, self.within_mm)
            out += beside(grounded(drawn, scale, limits), row.readings, left, notes)
            lane = self._lane(row.mean, row.meant_mm, scale, width)
            out.append(terminal.labelled("", left, lane))
        if (tie := self.tie_bar) is not None:
            lane = self._lane(tie, self.target_mm, scale, width)
            out.append(terminal.labelled(THE_TIE, left, lane))
        return "\n".join([*out, *self._foot_in_text(scale, left, width, stacked)])

    def in_svg(self) -> Picture:
        """Dots stacked where they share a graduation; below them the mean with its interval."""
        from hostctl.report.figures.gap.gap_marks import Held, drawn_gaps  # a terminal needs none

        scale, held = self.scale(), Held(self.target_mm, self.margin_mm, self.within_mm)
        return drawn_gaps(self.rows, self.step_mm, scale, held, self.tie_bar, self._cut(scale))

    def numbers(self) -> Table:
        """How many settings at each gap, and the mean, row by row."""
        return Table(
            columns=(
                Column(head="gap", unit="mm", is_number=True),
                Column(head="settings", is_number=True),
                Column(head=""),
            ),
            rows=(*chain.from_iterable(map(self._numbers, self.rows)), *self._held_in_numbers()),
        )

    def scale(self) -> Scale:
        """Wide enough for all settings and what they are held against; an end far off is cut."""
        dots = [(d.value_mm, d.count) for row in self.rows for d in row.readings.dots]
        held = [self.target_mm]
        for row in self.rows:
            held += [row.meant_mm, *_about(row.meant_mm, self.margin_mm)]
            held += _about(row.meant_mm, self.within_mm)
        bars = [row.mean for row in self.rows if row.mean is not None]
        low, high = readable(dots or [(held[0], 1)], held, self.step_mm)
        span = high - low
        ends = chain.from_iterable(bar.ends for bar in (*bars, *filter(None, [self.tie_bar])))
        near = [one for one in ends if low - span <= one <= high + span]
        return Scale(min([low, *near]), max([high, *near]))

    @property
    def tie_bar(self) -> MeanBar | None:
        """What the tie alone leaves open, laid about the target."""
        if self.tie is None:
            return None
        low, high = self.tie
        return MeanBar(value=self.target_mm, low=low, high=high, tie_low=low, tie_high=high)

    def _numbers(self, row: GapRow) -> Iterator[tuple[str, ...]]:
        of = row.readings
        yield (", ".join(filter(None, (of.head, of.label, of.note))) or "all",)
        yield self._mm(row.meant_mm), "", "wanted"
        for dots in of.dots:
            yield self._mm(dots.value_mm), str(dots.count), ", ".join(_remarks(dots))
        if row.mean is not None:
            yield self._mm(row.mean.value), "", "mean"
            yield from self._ends(row.mean.low, row.mean.high, "mean, 95 %")
            yield from self._ends(row.mean.tie_low, row.mean.tie_high, "of it the tie's")

    def _held_in_numbers(self) -> Iterator[tuple[str, ...]]:
        """What all rows are held against."""
        yield ("all",)
        yield self._mm(self.target_mm), "", "target"
        for reach, what in ((self.margin_mm, "mean on target"), (self.within_mm, "tolerance")):
            if reach is not None:
                yield short_number(reach), "", f"{what}, to either side"
        if self.tie is not None:
            yield from self._ends(*self.tie, THE_TIE)

    def _ends(self, low: float, high: float, what: str) -> Iterator[tuple[str, ...]]:
        for end, which in ((low, "from"), (high, "to")):
            yield self._mm(end) if isfinite(end) else "", "", f"{what}, {which}"

    def _mm(self, value_mm: float) -> str:
        """A gap, to a tenth of a graduation."""
        return in_mm(value_mm, self.step_mm / 10).removeprefix("+")

    def _cut(self, scale: Scale) -> str:
        far = [
            f"{row.readings.label} {self._mm(dots.value_mm)} mm"
            + f" ({dots.count:,})" * (dots.count > 1)
            for row in self.rows
            for dots in row.readings.dots
            if not scale.holds(dots.value_mm)
        ]
        return off_the_scale(far)

    def _lane(self, bar: MeanBar | None, meant_mm: float, scale: Scale, width: int) -> str:
        """The line below the dots: the margin, the gap wanted, and the mean with its interval."""
        line = [" "] * width
        if margin := _about(meant_mm, self.margin_mm):
            _fill(line, MARGIN, *(terminal.column(scale, end, width) for end in margin))
        line[terminal.column(scale, meant_mm, width)] = WANTED
        if bar is None:
            return "".join(line)
        for sign, low, high in (("─", bar.low, bar.high), (TIES_PART, bar.tie_low, bar.tie_high)):
            _fill(line, sign, *(terminal.column(scale, end, width) for end in (low, high)))
        line[terminal.column(scale, bar.low, width)] = "├" if scale.holds(bar.low) else "←"
        line[terminal.column(scale, bar.high, width)] = "┤" if scale.holds(bar.high) else "→"
        line[terminal.column(scale, bar.value, width)] = MEAN
        return "".join(line)

    def _foot_in_text(self, scale: Scale, left: int, width: int, stacked: bool) -> Iterator[str]:
        limits = _about(self.target_mm, self.within_mm)
        marks = [(self.target_mm, short_number(self.target_mm)), *scale.levels(signed=False)]
        strong = (limits[0], limits[1]) if limits else None
        for line in terminal.foot(scale, width, marks, strong):
            yield terminal.labelled("", left, line)
        for line in terminal.broken("; ".join(self._said(stacked)), terminal.WIDTH - left - 2):
            yield terminal.labelled("", left, line)
        for line in terminal.broken(self._cut(scale), terminal.WIDTH - left - 2):
            yield terminal.labelled("", left, line)

    def _said(self, stacked: bool) -> Iterator[str]:
        """What the signs mean."""
        yield f"gap in mm; {WANTED} wanted"
        if self.margin_mm is not None:
            yield f"{MARGIN} mean on target (±{short_number(self.margin_mm)})"
        if self.within_mm is not None:
            yield f"{LIMIT} tolerance (±{short_number(self.within_mm)})"
        yield f"├─{MEAN}─┤ mean, 95 %, {TIES_PART} of it the tie's"
        if not stacked:
            yield "▁ to █: from few to the row's most"
        dots = [dots for row in self.rows for dots in row.readings.dots]
        if any(one.outside for one in dots):
            yield f"{OUTSIDE} outside"
        if signs := _doubts(dots, stacked):
            yield f"{signs} read since the last good check of the tie"


def _about(middle_mm: float, reach_mm: float | None) -> tuple[float, ...]:
    """Both ends of a band; none without one."""
    return () if reach_mm is None else (middle_mm - reach_mm, middle_mm + reach_mm)


def _doubts(dots: Sequence[Dots], stacked: bool) -> str:
    """The signs of what is doubted; a profile has no open diamonds."""
    outside = {one.outside and stacked for one in dots if one.doubted}
    return " ".join((DOUBTED, DOUBTED_OUTSIDE)[one] for one in sorted(outside))


def _fill(line: list[str], sign: str, first: int, last: int) -> None:
    line[first : last + 1] = sign * (last + 1 - first)


def _remarks(dots: Dots) -> Iterator[str]:
    if dots.outside:
        yield "outside"
    if dots.doubted:
        yield "since the last good check of the tie"
