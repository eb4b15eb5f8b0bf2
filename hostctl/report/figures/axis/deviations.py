"""How far off its targets an axis came to rest, from either side: means and bands of two s."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import in_mm
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.ink import FAINT, PALE, Ink, Shape
from hostctl.report.figures.pen.lettering import in_cells, plain
from hostctl.report.figures.pen.scale import Scale
from hostctl.report.figures.pen.written import (
    LINE_PX,
    LegendItem,
    as_sign,
    foot,
    legend,
    row_head,
)

LANE_PX = 14.0
UP, DOWN, ZERO = "▲", "▽", "┊"
UP_WORDS, DOWN_WORDS = "come to from below", "come to from above"


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One target from one side: the mean deviation, and two s to either side of it."""

    mean_mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviationRow:
    """One target. says: its reversal in words, empty where there is none."""

    label: str
    up: Band | None
    down: Band | None
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviations:
    """At least two rows, the highest target first. step_mm: what is read to; about: what 0 is."""

    kind: ClassVar[str] = "axis-deviations"
    rows: tuple[DeviationRow, ...]
    step_mm: float
    about: str

    def in_text(self) -> str:
        """Two lines a target: from below, and from above."""
        notes = terminal.label_width([row.says for row in self.rows], terminal.room_for_notes(10))
        labels = terminal.label_width([row.label for row in self.rows])
        width = terminal.WIDTH - labels - notes - 4
        scale = self.scale()
        out = []
        for row in self.rows:
            lanes = [
                _lane(band, sign, scale, width)
                for band, sign in ((row.up, UP), (row.down, DOWN))
                if band is not None
            ]
            said = in_cells(plain(row.says), notes).rstrip()
            out += [
                terminal.labelled(label, labels, lane, note)
                for lane, label, note in zip(lanes, (row.label, ""), (said, ""), strict=False)
            ]
        for line in terminal.foot(scale, width, scale.ticks(signed=True)):
            out.append(terminal.labelled("", labels, line))
        for line in terminal.broken(self._signs(), width):
            out.append(terminal.labelled("", labels, line))
        return "\n".join(out)

    def in_svg(self) -> Picture:
        """The same; a line joins the means of each side."""
        ink, scale = Ink(), self.scale()
        zero, y = scale.share(0.0), 0.0
        places: dict[str, list[tuple[float, float]]] = {UP: [], DOWN: []}
        for row in self.rows:
            ink.may_be_cut(y + 2)
            y = row_head(ink, y + 3, row.label, row.says)
            for band, sign in ((row.up, UP), (row.down, DOWN)):
                if band is not None:
                    places[sign].append((scale.share(band.mean_mm), y + LANE_PX / 2))
                    _bar(ink, band, sign, scale, y + LANE_PX / 2)
                    y += LANE_PX
        y += 4
        for sign, each in places.items():
            for start, end in pairwise(each):
                ink.line(start, end, weight=PALE, dashed=sign == DOWN, beneath=True)
        ink.line((zero, LINE_PX), (zero, y), width=2, weight=FAINT, beneath=True)
        y = foot(ink, y, scale, self._caption(), signed=True)
        return ink.picture(legend(ink, y, list(self._legend())) + 2)

    def numbers(self) -> Table:
        """Each band in figures."""
        heads = ("mean", "−2 s", "+2 s")
        return Table(
            columns=(
                Column(head="target"),
                Column(head="side"),
                *(Column(head=head, unit="mm", is_number=True) for head in heads),
            ),
            rows=tuple(self._rows()),
        )

    def scale(self) -> Scale:
        """Holds every band, and 0."""
        ends = [0.0, *(end for band in self._bands() for end in (band.low_mm, band.high_mm))]
        edge = max(0.04 * (max(ends) - min(ends)), self.step_mm)
        return Scale(min(ends) - edge, max(ends) + edge)

    def _bands(self) -> Sequence[Band]:
        return [band for row in self.rows for band in (row.up, row.down) if band is not None]

    def _rows(self) -> Iterator[tuple[str, ...]]:
        fine_mm = self.step_mm / 10
        for row in self.rows:
            for band, side in ((row.up, "from below"), (row.down, "from above")):
                if band is not None:
                    each = (band.mean_mm, band.low_mm, band.high_mm)
                    yield row.label, side, *(in_mm(one, fine_mm) for one in each)

    def _caption(self) -> str:
        return f"deviation in mm from {self.about}; bars: two s to either side of the mean"

    def _sides(self) -> Iterator[tuple[str, str]]:
        if any(row.up is not None for row in self.rows):
            yield UP, UP_WORDS
        if any(row.down is not None for row in self.rows):
            yield DOWN, DOWN_WORDS

    def _signs(self) -> str:
        return "; ".join([self._caption(), *(f"{sign} {words}" for sign, words in self._sides())])

    def _legend(self) -> Iterator[LegendItem]:
        for sign, words in self._sides():
            yield as_sign(_shape(sign), 5), words


def _shape(sign: str) -> Shape:
    return Shape.TRIANGLE if sign == UP else Shape.OPEN_TRIANGLE


def _bar(ink: Ink, band: Band, sign: str, scale: Scale, y: float) -> None:
    ends = [(scale.share(end), y) for end in (band.low_mm, band.high_mm)]
    ink.line(ends[0], ends[1], width=2)
    for x, _ in ends:
        ink.line((x, y - 4), (x, y + 4), width=1.5)
    ink.sign(_shape(sign), scale.share(band.mean_mm), y, 5, accent=True)


def _lane(band: Band, sign: str, scale: Scale, width: int) -> str:
    line = [" "] * width
    line[terminal.column(scale, 0.0, width)] = ZERO
    left, right = (terminal.column(scale, end, width) for end in (band.low_mm, band.high_mm))
    if left < right:
        line[left : right + 1] = "─" * (right + 1 - left)
        line[left], line[right] = "├", "┤"
    line[terminal.column(scale, band.mean_mm, width)] = sign
    return "".join(line)
