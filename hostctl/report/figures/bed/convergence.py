"""How a bed's tilt went from round to round, towards what is good enough."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import short_number
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.ink import FAINT, PALE, Ink, Shape
from hostctl.report.figures.pen.lettering import in_cells
from hostctl.report.figures.pen.scale import Scale
from hostctl.report.figures.pen.written import LINE_PX, foot, legend, row_head

BAR_PX = 18
BY_RATIO = 8.0  # from so many times what is good enough on, equal ratios are equally long
RIG, GOOD, TILT = "░", "┊", "●"


@dataclass(frozen=True, slots=True, kw_only=True)
class TiltRow:
    """One round. low_mm, high_mm: where its tilt may lie, 95 %.  says: it in words."""

    label: str
    tilt_mm: float
    low_mm: float
    high_mm: float
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Convergence:
    """At least one row. within_mm: what is good enough.  rig_mm: a tilt that is no larger is too
    little for this rig to tell from level; None: not known."""

    kind: ClassVar[str] = "convergence"
    rows: tuple[TiltRow, ...]
    within_mm: float
    rig_mm: float | None

    def in_text(self) -> str:
        """A line a round: its tilt with its interval."""
        notes = terminal.label_width([row.says for row in self.rows], terminal.room_for_notes(10))
        labels = terminal.label_width([row.label for row in self.rows])
        width = terminal.WIDTH - labels - notes - 4
        scale = self.scale()
        out = [
            terminal.labelled(
                row.label, labels, self._lane(row, scale, width), in_cells(row.says, notes)
            )
            for row in self.rows
        ]
        marks = [(self.within_mm, short_number(self.within_mm)), *scale.levels(signed=False)]
        for line in terminal.foot(scale, width, marks):
            out.append(terminal.labelled("", labels, line))
        for line in terminal.broken(self._signs(), width):
            out.append(terminal.labelled("", labels, line))
        return "\n".join(out)

    def in_svg(self) -> Picture:
        """A bar a round from low to high, a dot at the tilt."""
        ink, scale = Ink(), self.scale()
        good = scale.share(self.within_mm)
        ink.centred(good, LINE_PX - 4, f"good enough: {short_number(self.within_mm)} mm")
        y = top = float(LINE_PX)
        for row in self.rows:
            ink.may_be_cut(y + 2)
            y = row_head(ink, y + 3, row.label, row.says)
            middle = y + BAR_PX / 2
            ink.line((good, y), (good, y + BAR_PX), width=2, weight=PALE, beneath=True)
            ends = [(scale.share(one), middle) for one in (row.low_mm, row.high_mm)]
            ink.line(ends[0], ends[1], width=3)
            for x, at in ends:
                ink.line((x, at - 5), (x, at + 5), width=1.5)
            ink.sign(Shape.DOT, scale.share(row.tilt_mm), middle, 5, accent=True)
            y += BAR_PX
        y += 4
        ink.line((good, top), (good, y), width=2, weight=FAINT, beneath=True)
        if self.rig_mm is not None:
            left = 0.0 if scale.by_ratio else scale.share(0.0)
            ink.ground((left, top), (scale.share(self.rig_mm), y), FAINT)
        y = foot(ink, y, scale, self._caption(), signed=False)
        items = [(_patch, "too little for this rig to tell from level")]
        return ink.picture(legend(ink, y, items if self.rig_mm is not None else []) + 2)

    def numbers(self) -> Table:
        """Each round in figures."""
        return Table(
            columns=(
                Column(head="round"),
                *(Column(head=head, unit="mm", is_number=True) for head in ("tilt", "from", "to")),
            ),
            rows=tuple(self._rows()),
        )

    def scale(self) -> Scale:
        """From 0; where it began far off, equal ratios are equally long."""
        largest = max(*(row.high_mm for row in self.rows), self.within_mm)
        if largest < BY_RATIO * self.within_mm:
            return Scale(0.0, 1.06 * largest)
        least = [row.tilt_mm for row in self.rows if row.tilt_mm > 0]
        low = min(*least, self.within_mm, self.rig_mm or self.within_mm) / 2
        return Scale(max(low, largest / 1e5), 1.2 * largest, by_ratio=True)

    def _rows(self) -> Iterator[tuple[str, ...]]:
        for row in self.rows:
            yield row.label, *map(short_number, (row.tilt_mm, row.low_mm, row.high_mm))
        yield "good enough", "", "", short_number(self.within_mm)
        if self.rig_mm is not None:
            yield (
                "too little for this rig to tell from level, up to",
                "",
                "",
                short_number(self.rig_mm),
            )

    def _caption(self) -> str:
        by_ratio = ", equal ratios equally long" if self.scale().by_ratio else ""
        return f"tilt in mm{by_ratio}; bars: 95 %"

    def _signs(self) -> str:
        rig = f"; {RIG} too little for this rig to tell from level" if self.rig_mm else ""
        return f"{self._caption()}; {GOOD} good enough{rig}"

    def _lane(self, row: TiltRow, scale: Scale, width: int) -> str:
        line = [" "] * width
        if self.rig_mm is not None:
            upto = terminal.column(scale, self.rig_mm, width)
            line[: upto + 1] = RIG * (upto + 1)
        line[terminal.column(scale, self.within_mm, width)] = GOOD
        left, right = (terminal.column(scale, end, width) for end in (row.low_mm, row.high_mm))
        line[left : right + 1] = "─" * (right + 1 - left)
        line[left], line[right] = "├", "┤"
        line[terminal.column(scale, row.tilt_mm, width)] = TILT
        return "".join(line)


def _patch(ink: Ink, x: float, y: float) -> None:
    ink.patch(x, y, FAINT)
