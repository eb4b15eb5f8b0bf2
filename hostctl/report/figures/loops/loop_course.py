"""The course of a probe loop: its touches in order of time, between their control limits."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import in_mm
from hostctl.report.figures.loops.in_text import course_in_text
from hostctl.report.figures.loops.marks import MOST_HOMINGS, Course, TouchColumn
from hostctl.report.figures.pen.ink import FAINT, PALE, Ink, Shape
from hostctl.report.figures.pen.scale import Scale, off_the_scale
from hostctl.report.figures.pen.written import (
    LINE_PX,
    LegendItem,
    as_sign,
    height,
    legend,
    paragraph,
    upright,
)

HIGH_PX = 230.0
FIRST, LAST = 0.16, 0.985  # of the width; left of it stand the levels
SIGNS = (Shape.DOT, Shape.RING)
ROOMY = 60  # so many columns have marks of full size


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopCourse(Course):
    """As `Course`; the record that is drawn."""

    kind: ClassVar[str] = "loop-course"

    def in_text(self) -> str:
        """Thirteen rows, time to the right."""
        return course_in_text(self)

    def in_svg(self) -> Picture:
        """Time to the right, height upwards."""
        ink, rise, along = Ink(), self.rise(), self._along()
        high = (float(LINE_PX), LINE_PX + HIGH_PX)
        upright(ink, rise, *high)
        zero = height(rise, 0.0, *high)
        ink.line((FIRST - 0.02, zero), (1, zero), weight=PALE)
        self._interruptions(ink, along, high)
        self._limits(ink, rise, along, high)
        for column in self.columns:
            self._column(ink, rise, along, high, column)
        for touch, off_mm in self.beyond:
            y = height(rise, off_mm, *high)
            ink.sign(Shape.DIAMOND, along.share(touch), y, 5, accent=True)
        y = self._numbers_below(ink, along, high[1])
        y = paragraph(ink, y, self.foot())
        y = legend(ink, y, list(self._legend()))
        return ink.picture(paragraph(ink, y, off_the_scale(self.cut(rise))) + 2)

    def numbers(self) -> Table:
        """Each column."""
        sides = bool(self.sides)
        limited = any(one.lower_mm is not None for one in self.columns)
        heads = ("lowest", "mean", "highest", *(("limit below", "limit above") if limited else ()))
        return Table(
            columns=(
                Column(head="touches"),
                *([Column(head="from the")] if sides else []),
                Column(head="how many", is_number=True),
                *(Column(head=head, unit="mm", is_number=True) for head in heads),
                Column(head=""),
            ),
            rows=tuple(self._row(one, limited=limited) for one in self.columns),
        )

    def _row(self, one: TouchColumn, *, limited: bool) -> tuple[str, ...]:
        fine_mm = self.step_mm / 10
        limits = (one.lower_mm, one.upper_mm) if limited else ()
        return (
            str(one.first) if one.first == one.last else f"{one.first} to {one.last}",
            *([self.sides[one.side]] if self.sides else []),
            str(one.count),
            *(in_mm(value, fine_mm) for value in (one.low_mm, one.mean_mm, one.high_mm)),
            *("" if value is None else in_mm(value, fine_mm) for value in limits),
            "; ".join(self.happened(one)),
        )

    def _along(self) -> Scale:
        return Scale(0.5, self.touches + 0.5, first=FIRST, last=LAST)

    def _interruptions(self, ink: Ink, along: Scale, high: tuple[float, float]) -> None:
        """Between the touches that they lie between."""
        for touch in self.homed_before if len(self.homed_before) <= MOST_HOMINGS else ():
            x = along.share(touch - 0.5)
            ink.line((x, high[0]), (x, high[1]), weight=FAINT * 2, beneath=True)
            ink.line((x, high[1]), (x, high[1] - 8), width=1.5)
        for touch in self.halted_before:
            x = along.share(touch - 0.5)
            ink.line((x, high[0]), (x, high[1]), width=1.5, dashed=True, weight=PALE)
            ink.sign(Shape.TRIANGLE, x, high[1] - 5, 4.5)

    def _limits(self, ink: Ink, rise: Scale, along: Scale, high: tuple[float, float]) -> None:
        for first, last, lower_mm, upper_mm in self.limits():
            for end in (lower_mm, upper_mm):
                y = height(rise, end, *high)
                ends = (along.share(first - 0.5), y), (along.share(last + 0.5), y)
                ink.line(*ends, dashed=True, width=1.5)

    def _column(
        self, ink: Ink, rise: Scale, along: Scale, high: tuple[float, float], one: TouchColumn
    ) -> None:
        aside = (one.last - one.first + 1) * (0.15 if one.side else -0.15) if self.sides else 0.0
        x = along.share((one.first + one.last) / 2 + aside * (one.count > 1))
        if one.count > 1:
            ends = [height(rise, end, *high) for end in (one.low_mm, one.high_mm)]
            ink.line((x, ends[0]), (x, ends[1]), weight=PALE)
        small = self.touches > ROOMY and not self.is_binned
        ink.sign(SIGNS[one.side], x, height(rise, one.mean_mm, *high), 2.4 if small else 3.2)

    def _numbers_below(self, ink: Ink, along: Scale, y: float) -> float:
        ink.line((FIRST - 0.02, y), (1, y), weight=PALE)
        found = along.ticks(signed=False, most=5)
        ticks = [round(at) for at, _ in found if abs(at - round(at)) < 1e-6]
        for at in [at for at in ticks if along.holds(at) and at > 0] or [1]:
            ink.line((along.share(at), y), (along.share(at), y + 5))
            ink.centred(along.share(at), y + LINE_PX + 2, f"{at:,}")
        return y + LINE_PX + 5

    def _legend(self) -> Iterator[LegendItem]:
        mean = "mean of those" if self.is_binned else "a touch"
        names: Sequence[str] = self.sides
        if names:
            for shape, side in zip(SIGNS, names, strict=True):
                yield as_sign(shape, 3.2), f"{mean}, from the {side}"
        else:
            yield as_sign(Shape.DOT, 3.2), mean
        if self.is_binned:
            yield _upright_stroke, "from the lowest to the highest"
        if any(one.lower_mm is not None for one in self.columns):
            yield Ink.dash, "control limits"
        if self.beyond:
            yield as_sign(Shape.DIAMOND, accent=True), "beyond its limits"
        if 0 < len(self.homed_before) <= MOST_HOMINGS:
            yield _homed, "homed"
        if self.halted_before:
            yield as_sign(Shape.TRIANGLE), "stood still"


def _upright_stroke(ink: Ink, x: float, y: float) -> None:
    ink.sign(Shape.TICK, 0, y, 6, aside_px=x)


def _homed(ink: Ink, x: float, y: float) -> None:
    ink.sign(Shape.TICK, 0, y + 1, 4, aside_px=x)
