"""Settings in the order in which they were made."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import in_mm, short_number
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.ink import FAINT, KINDS, PALE, Ink
from hostctl.report.figures.pen.lettering import NARROW_PX, plain, shortened, width_px
from hostctl.report.figures.pen.scale import Scale, off_the_scale, readable
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
ROOMY = 120  # so many settings have marks of full size
ROWS = 13  # of a terminal
SIGNS = "●○■□▲△×+"
SEVERAL = "▪"  # kinds in one place
SHADES = "░▒▓█"
LEAST_LABEL_PX = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A setting. place: in the order taken, from 1.  kind: which of the chart's kinds, from 0.
    count: so many at this value among those that share a column, where there are very many."""

    place: int
    value_mm: float
    kind: int
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Settings of one block, that follow each other. label: method, hands and point."""

    first: int
    last: int
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderChart:
    """At least one setting. kinds: methods in their hands, each with a mark of its own.
    stretches: blocks; empty where they are mixed or too many.  within_mm: limits about 0; None
    without.  counted_from: what 0 is, in words.  foot: what runs along the foot, as "settings in
    the order made"."""

    kind: ClassVar[str] = "order"
    kinds: tuple[str, ...]
    settings: tuple[Placed, ...]
    stretches: tuple[Stretch, ...]
    step_mm: float
    within_mm: float | None
    counted_from: str
    foot: str

    def in_text(self) -> str:
        """Thirteen rows, time to the right; a sign a kind."""
        rise = self._rise()
        grid = self._grid(rise)
        labels = {ROWS - 1 - terminal.column(rise, 0.0, ROWS): "0"}
        for end in self._limits():
            words = in_mm(end, self.step_mm if abs(end) >= self.step_mm else None)
            labels.setdefault(ROWS - 1 - terminal.column(rise, end, ROWS), words)
        wide = max(map(len, labels.values()))
        out = [
            f"{labels.get(place, ''):>{wide}} ┤{''.join(row)}".rstrip()
            for place, row in enumerate(grid)
        ]
        first, last = self._ends()
        feet = [f"{first} to {last}: {self.foot}; mm from {self.counted_from}"]
        if self._is_dense():
            feet += [f"all kinds together, from few ({SHADES[0]}) to many ({SHADES[-1]})"]
        else:
            feet += [f"{SIGNS[k % len(SIGNS)]} {name}" for k, name in enumerate(self.kinds)]
        feet += [off_the_scale(self._cut(rise))]
        said = [
            line for words in feet for line in terminal.broken(words, terminal.WIDTH - wide - 2)
        ]
        return "\n".join([*out, *(f"{'':{wide + 2}}{line}" for line in said)])

    def in_svg(self) -> Picture:
        """Time to the right, deviation upwards; blocks by turns on pale ground."""
        ink, rise, along = Ink(), self._rise(), self._along()
        top = LINE_PX + 4.0 if self.stretches else LINE_PX
        bottom = top + HIGH_PX
        self._blocks(ink, along, bottom)
        upright(ink, rise, top, bottom)
        zero = height(rise, 0.0, top, bottom)
        ink.line((FIRST - 0.02, zero), (1, zero), weight=PALE)
        for end in self._limits():
            y = height(rise, end, top, bottom)
            ink.line((FIRST - 0.02, y), (1, y), dashed=True, width=1.5)
        self._marks(ink, rise, along, (top, bottom))
        y = self._places(ink, along, bottom)
        y = paragraph(ink, y, f"{self.foot}; upwards: mm from {self.counted_from}")
        y = legend(ink, y, list(self._legend()))
        return ink.picture(paragraph(ink, y, off_the_scale(self._cut(rise))) + 2)

    def numbers(self) -> Table:
        """Each setting."""
        counted, step_mm = self._is_dense(), self._told_to()
        blocks = bool(self.stretches)
        heads = ["", *(["block"] if blocks else [])]
        numbers = ["place", f"mm from {self.counted_from}", *(["settings"] if counted else [])]
        return Table(
            columns=(
                *(Column(head=head, is_number=True) for head in numbers),
                *(Column(head=head) for head in heads),
            ),
            rows=tuple(
                (
                    str(one.place),
                    in_mm(one.value_mm, step_mm),
                    *([str(one.count)] if counted else []),
                    self.kinds[one.kind],
                    *([self._block_of(one.place)] if blocks else []),
                )
                for one in self.settings
            ),
        )

    def _block_of(self, place: int) -> str:
        return next((s.label for s in self.stretches if s.first <= place <= s.last), "")

    def _told_to(self) -> float:
        """To how many mm values are told: to the step where all lie on it, else ten times finer."""
        steps = (one.value_mm / self.step_mm for one in self.settings)
        on_grid = all(abs(each - round(each)) < 1e-6 for each in steps)
        return self.step_mm if on_grid else self.step_mm / 10

    def _limits(self) -> list[float]:
        return [] if self.within_mm is None else [self.within_mm, -self.within_mm]

    def _is_outside(self, value_mm: float) -> bool:
        return self.within_mm is not None and abs(value_mm) > self.within_mm * (1 + 1e-9)

    def _rise(self) -> Scale:
        values = [(one.value_mm, one.count) for one in self.settings]
        low, high = readable(values, (0.0, *self._limits()), self.step_mm)
        return Scale(low, high, first=0.0, last=1.0)

    def _along(self) -> Scale:
        first, last = self._ends()
        return Scale(first - 0.5, last + 0.5, first=FIRST, last=LAST)

    def _ends(self) -> tuple[int, int]:
        places = [one.place for one in self.settings]
        edges = [edge for s in self.stretches for edge in (s.first, s.last)]
        return min([*places, *edges]), max([*places, *edges])

    def _cut(self, rise: Scale) -> list[str]:
        step_mm = self._told_to()
        return [
            f"place {one.place} at {in_mm(one.value_mm, step_mm)} mm"
            for one in self.settings
            if not rise.holds(one.value_mm)
        ]

    def _blocks(self, ink: Ink, along: Scale, bottom: float) -> None:
        for number, one in enumerate(self.stretches):
            left, right = along.share(one.first - 0.5), along.share(one.last + 0.5)
            if number % 2 == 0:
                ink.ground((left, 0), (right, bottom), FAINT / 2)
            room = (right - left) * NARROW_PX - 6
            words = plain(one.label)
            if width_px(words) > room and room < LEAST_LABEL_PX * 2:
                continue
            ink.text(left, LINE_PX - 3, shortened(words, room), aside_px=3)

    def _marks(self, ink: Ink, rise: Scale, along: Scale, high: tuple[float, float]) -> None:
        """Each setting by the mark of its kind; where several share one, its area is how many."""
        most = max(one.count for one in self.settings)
        radius = self._widest(along) if most > 1 else 3.8 if len(self.settings) <= ROOMY else 2.4
        for one in self.settings:
            x, y = along.share(one.place), height(rise, one.value_mm, *high)
            outside = self._is_outside(one.value_mm)
            if not rise.holds(one.value_mm):
                towards = "up" if one.value_mm > rise.high else "down"
                ink.arrow(x, y - 6 if towards == "up" else y + 6, towards=towards, accent=True)
            size = radius * sqrt(one.count / most)
            ink.sign(KINDS[one.kind % len(KINDS)], x, y, max(size, 0.4), accent=outside)

    def _widest(self, along: Scale) -> float:
        """The radius at which the marks of neighbouring columns still stand apart on a phone."""
        places = sorted({one.place for one in self.settings})
        apart = min((right - left for left, right in pairwise(places)), default=ROOMY)
        return min(max(apart * along.per_unit * NARROW_PX / 2, 2.6), 5.0)

    def _places(self, ink: Ink, along: Scale, y: float) -> float:
        ink.line((FIRST - 0.02, y), (1, y), weight=PALE)
        ticks = [round(at) for at, _ in along.ticks(signed=False) if abs(at - round(at)) < 1e-6]
        for at in [at for at in ticks if along.holds(at) and at > 0] or self._ends()[:1]:
            ink.line((along.share(at), y), (along.share(at), y + 5))
            ink.centred(along.share(at), y + LINE_PX + 2, f"{at:,}")
        return y + LINE_PX + 5

    def _legend(self) -> Iterator[LegendItem]:
        for place, name in enumerate(self.kinds):
            yield as_sign(KINDS[place % len(KINDS)]), name
        most = max(one.count for one in self.settings)
        if most > 1:
            yield as_sign(KINDS[0], 5), f"a mark's area is how many; the largest: {most:,}"
        if self.within_mm is not None:
            yield Ink.dash, f"±{short_number(self.within_mm)} mm"

    def _grid(self, rise: Scale) -> list[list[str]]:
        first, last = self._ends()
        width = min(last - first + 1, 60)
        width = 2 * width if width <= 30 else width
        grid = [[" "] * width for _ in range(ROWS)]
        for end in self._limits():
            grid[ROWS - 1 - terminal.column(rise, end, ROWS)] = ["┄"] * width
        grid[ROWS - 1 - terminal.column(rise, 0.0, ROWS)] = ["─"] * width
        heaps: dict[tuple[int, int], Counter[int]] = defaultdict(Counter)
        for one in self.settings:
            row = ROWS - 1 - terminal.column(rise, one.value_mm, ROWS)
            at = min(int((one.place - first) / (last - first + 1) * width), width - 1)
            heaps[row, at][one.kind % len(SIGNS)] += one.count
        most = max(heap.total() for heap in heaps.values())
        for (row, at), heap in heaps.items():
            sign = SIGNS[next(iter(heap))] if len(heap) == 1 else SEVERAL
            grid[row][at] = SHADES[-(-4 * heap.total() // most) - 1] if self._is_dense() else sign
        return grid

    def _is_dense(self) -> bool:
        return any(one.count > 1 for one in self.settings)
