"""One trial's motions as a path, seen from the side."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import short_number
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.ink import FAINT, PALE, Ink, Shape
from hostctl.report.figures.pen.lettering import NARROW_PX, TEXT_PX, in_cells, width_px
from hostctl.report.figures.pen.written import LINE_PX, paragraph

HIGH_PX = 150.0
APART = 0.05  # of the width, between a way down and the way up beside it
ACROSS = 0.62  # of the width, at most, for all of them
SET_IN_PX = 28.0
NUMBERED_PX = 290.0  # right of it stand the heights
TURNS_PX = 8.0  # shorter ways have no arrow

Place = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom in px on a phone


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Where the head comes to: at so high above z = 0, sideways from the point by so much.
    label: what happens there; empty where it only passes."""

    sideways_mm: float
    z_mm: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CyclePath:
    """Two stops or more, in the order of the motions."""

    kind: ClassVar[str] = "cycle"
    stops: tuple[Stop, ...]

    def in_text(self) -> str:
        """A line a stop: its number, how the head gets there, its height, what happens."""
        ways = ["●", *(_way(start, end) for start, end in pairwise(self.stops))]
        heights = [f"z {short_number(stop.z_mm)} mm" for stop in self.stops]
        wide = max(map(len, heights))
        return "\n".join(
            in_cells(
                f"{n:>2}  {way}  {high:<{wide}}  {stop.label}".rstrip(), terminal.WIDTH
            ).rstrip()
            for n, (way, high, stop) in enumerate(zip(ways, heights, self.stops, strict=True), 1)
        )

    def in_svg(self) -> Picture:
        """Heights to scale, the bed at the foot; sideways only the order is true."""
        ink = Ink()
        low = min(0.0, *(stop.z_mm for stop in self.stops))
        high = max(*(stop.z_mm for stop in self.stops), low + 1e-6, 0.0)
        top, bottom = 2.0 * LINE_PX, 2 * LINE_PX + HIGH_PX

        def y_of(z_mm: float) -> float:
            return bottom - (bottom - top) * (z_mm - low) / (high - low)

        bed = y_of(0.0)
        ink.ground((0, bed), (1, bed + 5), FAINT * 2)
        ink.line((0, bed), (1, bed), width=1.5)
        places = [(x, y_of(stop.z_mm)) for x, stop in zip(self._lanes(), self.stops, strict=True)]
        self._heights(ink, {stop.z_mm: y_of(stop.z_mm) for stop in self.stops}, bed)
        self._way(ink, places)
        self._stops(ink, places)
        ink.text(1, bed + 5 + LINE_PX, "bed, z = 0", anchor="end")
        y = max(bottom, bed) + LINE_PX + 12
        for number, stop in enumerate(self.stops, 1):
            ink.text(0, y + LINE_PX - 4, str(number), bold=True)
            label = f": {stop.label}" if stop.label else ""
            y = paragraph(ink, y, f"z {short_number(stop.z_mm)} mm{label}", aside_px=SET_IN_PX)
        return ink.picture(y + 2)

    def numbers(self) -> Table:
        """Each stop."""
        return Table(
            columns=(
                Column(head="", is_number=True),
                Column(head="sideways", unit="mm", is_number=True),
                Column(head="z", unit="mm", is_number=True),
                Column(head="what happens"),
            ),
            rows=tuple(
                (
                    str(number),
                    short_number(stop.sideways_mm),
                    short_number(stop.z_mm),
                    stop.label or "passes",
                )
                for number, stop in enumerate(self.stops, 1)
            ),
        )

    def _lanes(self) -> list[float]:
        """Where each stop lies across: a lane a way up or down, lanes of one place together."""
        lanes: list[tuple[float, int]] = []  # sideways, how manieth lane there
        used: dict[float, int] = defaultdict(lambda: -1)
        for number, stop in enumerate(self.stops):
            if number == 0 or self._turns(number):
                used[stop.sideways_mm] += 1
            lanes.append((stop.sideways_mm, used[stop.sideways_mm]))
        ordered = sorted(set(lanes))
        gaps = [
            APART if before[0] == after[0] else 6 * APART for before, after in pairwise(ordered)
        ]
        shrink = min(1.0, ACROSS / sum(gaps)) if gaps else 1.0
        across = {ordered[0]: 0.12}
        for (before, after), gap in zip(pairwise(ordered), gaps, strict=True):
            across[after] = across[before] + gap * shrink
        return [across[lane] for lane in lanes]

    def _turns(self, number: int) -> bool:
        """Whether a new lane begins with this stop: from elsewhere, or back the way it came."""
        before, here = self.stops[number - 1], self.stops[number]
        if before.sideways_mm != here.sideways_mm:
            return True
        if number == 1:
            return False
        further = self.stops[number - 2]
        came = before.z_mm - further.z_mm if further.sideways_mm == here.sideways_mm else 0.0
        return came * (here.z_mm - before.z_mm) < 0

    def _heights(self, ink: Ink, found: dict[float, float], bed: float) -> None:
        """Each height as a faint line, with its number where there is room."""
        above = 0.0
        for z_mm, y in sorted(found.items(), reverse=True):
            if y - above >= LINE_PX and abs(bed - y) >= LINE_PX:
                ink.line((0, y), (1, y), weight=FAINT)
                ink.text(1, y - 4, f"{short_number(z_mm)} mm", anchor="end")
                above = y

    def _way(self, ink: Ink, places: Sequence[Place]) -> None:
        """Its straight parts with arrows. Back the way it came is drawn beside the way there."""
        for (one, other), ((x1, y1), (x2, y2)) in zip(
            pairwise(self.stops), pairwise(places), strict=True
        ):
            stays = one.sideways_mm == other.sideways_mm
            # sideways at the height it has, then down; upwards first, then sideways
            corner = (x1, y2) if y2 < y1 and not stays else (x2, y1)
            for start, end in ((x1, y1), corner), (corner, (x2, y2)):
                if stays and start[1] == end[1]:
                    ink.line(start, end, weight=PALE, dashed=True)  # no motion
                elif start != end:
                    ink.line(start, end, width=1.5)
                    _tip(ink, start, end)

    def _stops(self, ink: Ink, places: Sequence[Place]) -> None:
        """A dot each, and its number where nothing else is written; what only passes is a ring."""
        numbers: dict[Place, list[int]] = defaultdict(list)
        for number, (x, y) in enumerate(places, 1):
            numbers[round(x, 4), round(y, 1)].append(number)
        taken: list[tuple[Box, float]] = []
        for (x, y), here in numbers.items():
            happens = any(self.stops[n - 1].label for n in here)
            ink.sign(Shape.DOT if happens else Shape.RING, x, y, 4.5 if happens else 3)
            words = ", ".join(map(str, here))
            below_way = any(abs(a - x) < 1e-4 and b < y - 1 for a, b in places)
            box = next(
                box for box in _around(x, y, words, beside=below_way) if not _hits(box, x, taken)
            )
            taken.append((box, x))
            ink.text(x, box[3] - 3, words, anchor="middle", aside_px=_aside(box, x), bold=True)


def _way(start: Stop, end: Stop) -> str:
    """The sign for how the head gets there."""
    if start.sideways_mm != end.sideways_mm:
        return "→" if end.sideways_mm > start.sideways_mm else "←"
    return "↓" if end.z_mm < start.z_mm else "↑" if end.z_mm > start.z_mm else "·"


def _tip(ink: Ink, start: Place, end: Place) -> None:
    """An arrow halfway."""
    (x1, y1), (x2, y2) = start, end
    if abs(y2 - y1) + abs(x2 - x1) * NARROW_PX < 2 * TURNS_PX:
        return
    if y1 == y2:
        towards = "right" if x2 > x1 else "left"
        ink.arrow((x1 + x2) / 2 + (0.008 if x2 > x1 else -0.008), y1, towards=towards)
    else:
        ink.arrow(x1, (y1 + y2) / 2 + (3 if y2 > y1 else -3), towards="down" if y2 > y1 else "up")


def _around(x: float, y: float, words: str, *, beside: bool) -> list[Box]:
    """Where the words may stand: above or beside, then further and further off."""
    half, at = width_px(words, bold=True) / 2, x * NARROW_PX
    shifts = [(-half - 9, -2.0), (half + 9, -2.0)]
    shifts = shifts if beside else [(0.0, -7.0), *shifts]
    steps = [(14.0 * across, 16.0 * down) for across in range(-9, 10) for down in range(-9, 10)]
    shifts += sorted(steps, key=lambda step: abs(step[0]) + abs(step[1]))
    return [
        (at + dx - half, y + dy - TEXT_PX, at + dx + half, y + dy + 3)
        for dx, dy in shifts
        if at + dx - half >= 0 and at + dx + half <= NUMBERED_PX and y + dy >= TEXT_PX
    ]


def _aside(box: Box, x: float) -> float:
    return (box[0] + box[2]) / 2 - x * NARROW_PX


def _hits(box: Box, x: float, taken: Sequence[tuple[Box, float]]) -> bool:
    """Whether words about a place lie on others, or would where the picture is wider: there the
    places lie further apart, and the words keep their distance from their own."""
    left, top, right, bottom = box
    return any(
        top < other[3]
        and other[1] < bottom
        and not (x <= at and right <= other[0])
        and not (x >= at and left >= other[2])
        for other, at in taken
    )
