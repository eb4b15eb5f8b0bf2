"""Parts of a whole, one bar a row."""

from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import percent
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.ink import Ink
from hostctl.report.figures.pen.lettering import cells, in_cells
from hostctl.report.figures.pen.written import Drawn, legend, row_head

BAR_PX = 22
GAP = 0.004  # of the width, between parts
INKS = (1.0, 0.55, 0.28, 0.0, 0.75, 0.4, 0.14)  # 0: an outline; neighbours differ most
FILLS = "█▓▒░▚▞▖"
TEXT_BAR = 60  # columns of a terminal
MOST_LABEL = 17


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareBar:
    """One whole. shares: of each part, 0 to 1, as many as the parts."""

    label: str
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareBars:
    """At least one bar. parts: their names, told apart by weight of ink and written beside."""

    kind: ClassVar[str] = "shares"
    parts: tuple[str, ...]
    bars: tuple[ShareBar, ...]

    def in_text(self) -> str:
        """A bar a line, its shares below it in the same order."""
        widest = terminal.label_width([bar.label for bar in self.bars], terminal.WIDTH)
        labels = widest if widest <= MOST_LABEL else 0  # longer ones stand above their bars
        out: list[str] = []
        for bar in self.bars:
            widths = _columns(bar.shares, TEXT_BAR)
            drawn = "".join(FILLS[place % len(FILLS)] * width for place, width in enumerate(widths))
            if not labels:
                out.append(in_cells(bar.label, terminal.WIDTH).rstrip())
            out.append(terminal.labelled(bar.label if labels else "", labels, drawn))
            out += [terminal.labelled("", labels, line) for line in self._said_in_text(bar)]
        return "\n".join(out)

    def in_svg(self) -> Picture:
        """Each bar as wide as the whole; below it what its parts are, in their order."""
        ink, y = Ink(), 0.0
        for bar in self.bars:
            ink.may_be_cut(y + 5 if y else 0)
            y = row_head(ink, y + (10 if y else 0), bar.label, bold=True)
            y = self._bar(ink, y + 2, bar)
        return ink.picture(y + 2)

    def numbers(self) -> Table:
        """Each share in per cent."""
        return Table(
            columns=(
                Column(head=""),
                *(Column(head=part, unit="%", is_number=True) for part in self.parts),
            ),
            rows=tuple(
                (bar.label, *(f"{100 * share:.1f}" for share in bar.shares)) for bar in self.bars
            ),
        )

    def _bar(self, ink: Ink, y: float, bar: ShareBar) -> float:
        total = max(sum(bar.shares), 1.0)
        left = 0.0
        for place, share in enumerate(bar.shares):
            right = left + share / total
            if share > 0:
                inner = max(right - GAP, left + 0.002)
                _area(ink, place, (left, y), (min(inner, 1.0), y + BAR_PX))
            left = right
        said = [
            (_swatch(place), f"{part} {percent(share)}")
            for place, (part, share) in enumerate(zip(self.parts, bar.shares, strict=True))
        ]
        return legend(ink, y + BAR_PX + 3, said)

    def _said_in_text(self, bar: ShareBar) -> list[str]:
        out, line = [], ""
        for place, (part, share) in enumerate(zip(self.parts, bar.shares, strict=True)):
            name = in_cells(part, 40).rstrip()
            words = f"{FILLS[place % len(FILLS)]} {name} {percent(share)}"
            if line and cells(line) + 3 + cells(words) > TEXT_BAR:
                out.append(line)
                line = ""
            line = f"{line}   {words}" if line else words
        return [*out, line]


def _area(ink: Ink, place: int, start: tuple[float, float], end: tuple[float, float]) -> None:
    weight = INKS[place % len(INKS)]
    if weight:
        ink.box(start, end, weight=weight)
        return
    (left, top), (right, bottom) = start, end
    inner = max(right - 0.003, left)
    ink.box((left + 0.003, top + 1), (inner, bottom - 1), hollow=True)


def _swatch(place: int) -> Drawn:
    """A small piece of the part's ink."""
    weight = INKS[place % len(INKS)]
    return lambda ink, x, y: ink.patch(x, y, weight)


def _columns(shares: tuple[float, ...], width: int) -> list[int]:
    """So many columns each that none is off by a whole one, and all together are the whole's."""
    total = max(sum(shares), 1.0)
    ends, passed = [0], 0.0
    for share in shares:
        passed += share / total
        ends.append(round(passed * width))
    return [right - left for left, right in pairwise(ends)]
