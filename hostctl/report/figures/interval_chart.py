"""Estimates with their intervals, one below the other on one scale."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar, Literal

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import short_number
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.ink import FAINT, PALE, PLAIN, Ink, Shape
from hostctl.report.figures.pen.lettering import cells, in_cells, plain
from hostctl.report.figures.pen.scale import REACH, Scale
from hostctl.report.figures.pen.written import LINE_PX, foot, row_head

Along = Literal["size", "difference", "ratio"]

BAR_PX = 18
OVER = 0.06  # of its length is free beyond what a scale must hold
FAR = 3.0  # what reaches so many times further than is usual is cut
MOST_SAYS = 32  # columns of a terminal, beside the picture; longer ones go below
NEUTRAL = {"size": 0.0, "difference": 0.0, "ratio": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalRow:
    """One estimate. value: None where only a bound is known.  low, high: None where that end is
    open.  says: it in words, as the tables have it.  head: heads this row and those below it.
    lesser: what stands beside the others for comparison, as the rig does."""

    label: str
    value: float | None
    low: float | None
    high: float | None
    says: str
    head: str = ""
    lesser: bool = False

    @property
    def known(self) -> list[float]:
        """What is known of it, finite."""
        each = (self.value, self.low, self.high)
        return [one for one in each if one is not None and math.isfinite(one)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """What the rows are held against. low None: a single line at `high`."""

    low: float | None
    high: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalChart:
    """At least one row. along: what the scale is of: sizes begin at 0, differences have 0 in it,
    and of ratios equal ones are equally long.  unit: of all of them, empty for ratios.
    against: a limit, or a margin around 0 or 1."""

    kind: ClassVar[str] = "intervals"
    rows: tuple[IntervalRow, ...]
    along: Along
    unit: str
    against: Mark | None

    def in_text(self) -> str:
        """A line a row: its ends, its value, and what it is held against."""
        widest = max(cells(plain(row.says)) for row in self.rows)
        beside = widest <= MOST_SAYS
        room = terminal.room_for_labels(widest if beside else 0)
        labels = terminal.label_width([row.label for row in self.rows], room)
        width = terminal.WIDTH - labels - 2 - (widest + 2 if beside else 0)
        scale = self._scale()
        out: list[str] = []
        for row in self.rows:
            if row.head:
                out.append(in_cells(row.head, terminal.WIDTH).rstrip())
            drawn = self._row_in_text(row, scale, width)
            out.append(terminal.labelled(row.label, labels, drawn, row.says if beside else ""))
            if not beside:
                out += [
                    terminal.labelled("", labels, line) for line in terminal.broken(row.says, width)
                ]
        return "\n".join([*out, *self._foot_in_text(scale, labels, width)])

    def _foot_in_text(self, scale: Scale, labels: int, width: int) -> Iterator[str]:
        marks = [(NEUTRAL[self.along], short_number(NEUTRAL[self.along]))]
        marks += [(end, short_number(end)) for end in self._limits()]
        marks += scale.levels(signed=False)
        words = [self.unit or "ratio", *([f"┊ {self.against.label}"] if self.against else [])]
        said = terminal.broken("; ".join(words), width)
        for line in (*terminal.foot(scale, width, marks), *said):
            yield terminal.labelled("", labels, line)

    def in_svg(self) -> Picture:
        """A bar from low to high, a dot at the value."""
        ink, scale = Ink(), self._scale()
        y = 0.0
        if self.against is not None:
            y += LINE_PX
            ink.centred(self._middle_of_margin(scale), y - 4, self.against.label)
        top = y
        for row in self.rows:
            ink.may_be_cut(y + 2)
            if row.head:
                y = row_head(ink, y + 8, row.head, bold=True)
            y = row_head(ink, y + 3, row.label, row.says)
            y = self._bar(ink, y, row, scale)
        y += 4
        self._held_against(ink, top, y, scale, FAINT)
        if len(ends := [scale.share(end) for end in self._limits()]) == 2:
            ink.ground((ends[0], top), (ends[1], y), FAINT)
        caption = {
            "size": self.unit,
            "difference": f"difference, {self.unit}" if self.unit else "",
            "ratio": "ratio",
        }[self.along]
        y = foot(ink, y, scale, caption, signed=self.along == "difference")
        return ink.picture(y + 2)

    def numbers(self) -> Table:
        """Each row in figures and in words."""
        heads = ("value", "from", "to")
        table = Table(
            columns=(
                Column(head=""),
                *(Column(head=head, unit=self.unit, is_number=True) for head in heads),
                Column(head="in words"),
            ),
            rows=tuple(_with_heads(self.rows)),
        )
        if self.against is None:
            return table
        low = "" if self.against.low is None else short_number(self.against.low)
        last = (self.against.label, "", low, short_number(self.against.high), "")
        return Table(columns=table.columns, rows=(*table.rows, last))

    def _bar(self, ink: Ink, y: float, row: IntervalRow, scale: Scale) -> float:
        """The interval below y. Returns where it ends."""
        middle = y + BAR_PX / 2
        self._held_against(ink, y, y + BAR_PX, scale, PALE)
        low, high = _end(row.low, scale.low), _end(row.high, scale.high)
        whole = row.low is not None and row.high is not None
        weight = PLAIN if whole else PALE
        left, right = scale.share(low), scale.share(high)
        if row.known:
            thick = 1.5 if row.lesser else 3
            ink.line((left, middle), (right, middle), width=thick, weight=weight)
            far = self._end_mark(ink, row.low, left, middle, scale, "left")
            far += self._end_mark(ink, row.high, right, middle, scale, "right")
        else:
            far = []
        if row.value is not None and scale.holds(row.value):
            shape = Shape.RING if row.lesser else Shape.DOT
            ink.sign(shape, scale.share(row.value), middle, 5, accent=not row.lesser)
        if not far:
            return y + BAR_PX
        ink.text(1, y + BAR_PX + 11, "on to " + " and ".join(far), anchor="end")
        return y + BAR_PX + LINE_PX

    def _end_mark(
        self, ink: Ink, end: float | None, x: float, y: float, scale: Scale, towards: str
    ) -> list[str]:
        """A stroke where the interval ends, an arrow where it goes on; how far, if it is known."""
        if end is None or not scale.holds(end):
            at_nought = self.along == "size" and towards == "left"
            if not at_nought:
                ink.arrow(x, y, towards=towards, aside_px=7 if towards == "right" else -7)
            known = end is not None and math.isfinite(end) and not at_nought
            return [short_number(end)] if known and end is not None else []
        ink.line((x, y - 5), (x, y + 5), width=1.5)
        return []

    def _held_against(self, ink: Ink, top: float, y: float, scale: Scale, weight: float) -> None:
        """Lines beneath the rows: faint where words stand on them, stronger beside the bars."""
        if self.along != "size":
            x = scale.share(NEUTRAL[self.along])
            ink.line((x, top), (x, y), weight=weight, beneath=True)
        for x in map(scale.share, self._limits()):
            ink.line((x, top), (x, y), width=2, weight=weight, beneath=True)

    def _middle_of_margin(self, scale: Scale) -> float:
        ends = [scale.share(end) for end in self._limits()]
        return sum(ends) / len(ends)

    def _limits(self) -> list[float]:
        """What rows are held against, as one value or two."""
        if self.against is None:
            return []
        low = self.against.low
        return [self.against.high] if low is None else [low, self.against.high]

    def _row_in_text(self, row: IntervalRow, scale: Scale, width: int) -> str:
        line = [" "] * width
        if self.along != "size":
            line[terminal.column(scale, NEUTRAL[self.along], width)] = "│"
        for end in self._limits():
            line[terminal.column(scale, end, width)] = "┊"
        if row.known:
            low, high = _end(row.low, scale.low), _end(row.high, scale.high)
            left, right = (terminal.column(scale, end, width) for end in (low, high))
            line[left : right + 1] = "─" * (right + 1 - left)
            line[left] = _end_sign(row.low, scale, "├", "─" if self.along == "size" else "←")
            line[right] = _end_sign(row.high, scale, "┤", "→")
        if row.value is not None and scale.holds(row.value):
            line[terminal.column(scale, row.value, width)] = "○" if row.lesser else "●"
        return "".join(line)

    def _fit(self) -> list[float]:
        """What can stand on the scale: ratios are above 0."""
        known = [one for row in self.rows for one in row.known]
        return [one for one in known if one > 0 or self.along != "ratio"]

    def _far(
        self, own: Callable[[float], float], neutral: float, fit: Sequence[float]
    ) -> list[list[float]]:
        """How far off the neutral value each row's ends and value lie."""
        return [[abs(own(one) - neutral) for one in row.known if one in fit] for row in self.rows]

    def _scale(self) -> Scale:
        """Wide enough for all values and what they are held against; an end far beyond is cut."""
        by_ratio = self.along == "ratio"
        own = math.log if by_ratio else float
        neutral = NEUTRAL[self.along]
        fit = self._fit()
        values = [row.value for row in self.rows if row.value in fit and row.value is not None]
        core = [own(one) for one in (*values, *self._limits(), neutral)]
        far = self._far(own, own(neutral), fit)
        reach = max(REACH * (max(core) - min(core)), FAR * _usual(far)) or 1.0
        low, high = min(core) - reach, max(core) + reach
        drawn = [own(one) for one in fit if low <= own(one) <= high]
        ends = _apart([*core, *drawn], reach)
        over = (max(ends) - min(ends)) * OVER
        if self.along == "size":
            return Scale(0.0, max(ends) + over)
        back = math.exp if by_ratio else float
        return Scale(back(min(ends) - over), back(max(ends) + over), by_ratio)


def _end_sign(end: float | None, scale: Scale, closed: str, goes_on: str) -> str:
    return closed if end is not None and scale.holds(end) else goes_on


def _end(end: float | None, without: float) -> float:
    return without if end is None or not math.isfinite(end) else end


def _usual(far: Sequence[Sequence[float]]) -> float:
    """How far rows usually reach: the lower median."""
    furthest = sorted(max(each) for each in far if each)
    return furthest[(len(furthest) - 1) // 2] if furthest else 0.0


def _apart(ends: list[float], reach: float) -> list[float]:
    """The ends of a scale, which are not allowed to be one."""
    return [*ends, ends[0] + reach] if len(set(ends)) == 1 else ends


def _with_heads(rows: Sequence[IntervalRow]) -> Iterator[tuple[str, ...]]:
    for row in rows:
        if row.head:
            yield (row.head,)
        ends = (row.value, row.low, row.high)
        yield (row.label, *("" if e is None else short_number(e) for e in ends), row.says)
