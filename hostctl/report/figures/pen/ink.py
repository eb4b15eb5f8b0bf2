"""The few marks that all figures are made of: x as a share of the width, y in px."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from html import escape
from typing import Literal

from hostctl.report.document.picture import Picture
from hostctl.report.figures.pen.lettering import NARROW_PX, TEXT_PX, plain, shortened, width_px

Anchor = Literal["start", "middle", "end"]

FAINT, PALE, PLAIN = 0.12, 0.5, 1.0  # weights of ink that print in grey as well
FINE = 10  # so many steps a px in paths that stretch with the width


class Shape(StrEnum):
    """What tells marks apart; the diamond is kept for what stands out."""

    DOT = "dot"
    RING = "ring"
    SQUARE = "square"
    OPEN_SQUARE = "open square"
    TRIANGLE = "triangle"
    OPEN_TRIANGLE = "open triangle"
    CROSS = "cross"
    PLUS = "plus"
    DIAMOND = "diamond"
    TICK = "tick"
    OPEN_DIAMOND = "open diamond"


KINDS = tuple(Shape)[:8]
_OPEN = frozenset(shape for shape in Shape if shape.startswith("open"))
_OPEN |= {Shape.RING, Shape.CROSS, Shape.PLUS}
# corners, in radii; the factors make all look equally heavy
_OUTLINES: dict[Shape, Sequence[Sequence[tuple[float, float]]]] = {
    Shape.SQUARE: [((-0.88, -0.88), (0.88, -0.88), (0.88, 0.88), (-0.88, 0.88))],
    Shape.OPEN_SQUARE: [((-0.88, -0.88), (0.88, -0.88), (0.88, 0.88), (-0.88, 0.88))],
    Shape.TRIANGLE: [((0, -1.15), (1.1, 0.85), (-1.1, 0.85))],
    Shape.OPEN_TRIANGLE: [((0, -1.15), (1.1, 0.85), (-1.1, 0.85))],
    Shape.DIAMOND: [((0, -1.25), (1.25, 0), (0, 1.25), (-1.25, 0))],
    Shape.OPEN_DIAMOND: [((0, -1.25), (1.25, 0), (0, 1.25), (-1.25, 0))],
    Shape.CROSS: [((-0.9, -0.9), (0.9, 0.9)), ((0.9, -0.9), (-0.9, 0.9))],
    Shape.PLUS: [((-1.15, 0), (1.15, 0)), ((0, -1.15), (0, 1.15))],
    Shape.TICK: [((-0.25, -1), (0.25, -1), (0.25, 1), (-0.25, 1))],
}


@dataclass(slots=True)
class Ink:
    """Marks, in the order in which they are put down; the ground lies beneath all of them.

    cuts: where a picture that is too high for its paper may be taken apart.
    """

    marks: list[str] = field(default_factory=list)
    beneath: list[str] = field(default_factory=list)
    cuts: list[int] = field(default_factory=list)

    def may_be_cut(self, y: float) -> None:
        """Nothing that is drawn above y belongs to what is drawn below it."""
        if y > 0:
            self.cuts.append(round(y))

    def sign(
        self,
        shape: Shape,
        x: float,
        y: float,
        radius: float = 4.0,
        *,
        aside_px: float = 0.0,
        accent: bool = False,
    ) -> None:
        """One mark around a place, or so many px to the right of it."""
        look = ' class="accent"' if accent else ""
        look += _outline(radius) if shape in _OPEN else ' fill="currentColor"'
        if shape in (Shape.DOT, Shape.RING) and not aside_px:
            self.marks.append(f'<circle cx="{_share(x)}" cy="{_px(y)}" r="{_px(radius)}"{look}/>')
            return
        if shape in (Shape.DOT, Shape.RING):
            drawn = f'<circle cx="{_px(aside_px)}" cy="0" r="{_px(radius)}"{look}/>'
        else:
            drawn = f'<path d="{_path(shape, radius, aside_px)}"{look}/>'
        self._set(x, y, drawn)

    def arrow(
        self,
        x: float,
        y: float,
        *,
        towards: str = "right",
        aside_px: float = 0.0,
        accent: bool = False,
    ) -> None:
        """A tip at a place: the end of what goes on beyond, or the way that something goes."""
        tip = {
            "right": "m-6-4l6 4-6 4",
            "left": "m6-4l-6 4 6 4",
            "up": "m-4 6l4-6 4 6",
            "down": "m-4-6l4 6 4-6",
        }[towards]
        look = ' class="accent"' if accent else ""
        look += ' fill="none" stroke="currentColor" stroke-width="2"'
        self._set(x, y, f'<path d="M{_px(aside_px)} 0{tip}"{look}/>')

    def traced(
        self,
        x: float,
        y: float,
        path: str,
        *,
        width: float = 1.0,
        weight: float = PLAIN,
        dashed: bool = False,
        beneath: bool = False,
    ) -> None:
        """A line along a path that is given in px about a place; or as part of the ground."""
        dash = ' stroke-dasharray="5 4"' if dashed else ""
        drawn = (
            f'<path d="{path}" fill="none" stroke="currentColor" stroke-width="{_px(width)}"'
            f"{_weight(weight, 'stroke')}{dash}/>"
        )
        self._set(x, y, drawn, beneath=beneath)

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        *,
        width: float = 1.0,
        weight: float = PLAIN,
        dashed: bool = False,
        beneath: bool = False,
    ) -> None:
        """From one place to another; or as part of the ground."""
        (x1, y1), (x2, y2) = start, end
        dash = ' stroke-dasharray="5 4"' if dashed else ""
        (self.beneath if beneath else self.marks).append(
            f'<line x1="{_share(x1)}" y1="{_px(y1)}" x2="{_share(x2)}" y2="{_px(y2)}" '
            f'stroke="currentColor" stroke-width="{_px(width)}"{_weight(weight, "stroke")}{dash}/>'
        )

    def box(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        *,
        weight: float = PLAIN,
        hollow: bool = False,
    ) -> None:
        """An area between two corners, the upper left one first."""
        look = _outline(4) if hollow else f' fill="currentColor"{_weight(weight, "fill")}'
        self.marks.append(f"<rect {_corners(start, end)}{look}/>")

    def ground(self, start: tuple[float, float], end: tuple[float, float], weight: float) -> None:
        """A pale area beneath everything."""
        look = f' fill="currentColor"{_weight(weight, "fill")}'
        self.beneath.append(f"<rect {_corners(start, end)}{look}/>")

    def patch(self, aside_px: float, y: float, weight: float) -> None:
        """A sample of ink, so many px from the left; 0 is an outline."""
        look = f' fill="currentColor"{_weight(weight, "fill")}' if weight else _outline(3)
        self.marks.append(
            f'<rect x="{_px(aside_px - 5)}" y="{_px(y - 5)}" width="10" height="10"{look}/>'
        )

    def dash(self, aside_px: float, y: float) -> None:
        """A sample of a dashed line, so many px from the left."""
        ends = f'x1="{_px(aside_px - 7)}" x2="{_px(aside_px + 7)}" y1="{_px(y)}" y2="{_px(y)}"'
        self.marks.append(
            f'<line {ends} stroke="currentColor" stroke-width="1.5" stroke-dasharray="5 4"/>'
        )

    def stroke(self, aside_px: float, y: float) -> None:
        """A sample of a short pale stroke, so many px from the left."""
        self.marks.append(
            f'<rect x="{_px(aside_px - 4)}" y="{_px(y - 1)}" width="8" height="2" '
            f'fill="currentColor"{_weight(PALE, "fill")}/>'
        )

    def columns(
        self,
        each: Sequence[tuple[float, float, float, float]],
        *,
        accent: bool = False,
        weight: float = PLAIN,
    ) -> None:
        """Many upright bars in one path: left and right as shares, top and foot in px, whole."""
        if not each:
            return
        wide = round(NARROW_PX * FINE)
        high = max(1, round(max(foot for *_, foot in each)))
        drawn = "".join(
            f"M{left * wide:.0f} {_px(top)}H{right * wide:.0f}V{_px(foot)}H{left * wide:.0f}z"
            for left, right, top, foot in each
        )
        look = ' class="accent"' if accent else ""
        pale = _weight(weight, "fill")
        self.marks.append(
            f'<svg x="0" y="0" width="100%" height="{high}" viewBox="0 0 {wide} {high}" '
            f'preserveAspectRatio="none"><path{look} d="{drawn}" fill="currentColor"{pale}/></svg>'
        )

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        anchor: Anchor = "start",
        bold: bool = False,
        aside_px: float = 0.0,
    ) -> None:
        """Words, their foot at y."""
        words = plain(words)
        if not words.strip():
            return
        heavy = ' font-weight="600"' if bold else ""
        at = "" if anchor == "start" else f' text-anchor="{anchor}"'
        at += f' dx="{_px(aside_px)}"' if aside_px else ""
        self.marks.append(
            f'<text x="{_share(x)}" y="{_px(y)}" font-size="{TEXT_PX}" fill="currentColor"'
            f"{at}{heavy}>{escape(words, quote=False)}</text>"
        )

    def centred(self, x: float, y: float, words: str) -> None:
        """Words around x, moved inwards where they would be cut off on a phone."""
        words = shortened(plain(words), NARROW_PX)
        half = width_px(words) / 2 / NARROW_PX
        anchor: Anchor = "start" if x < half else "end" if x > 1 - half else "middle"
        self.text({"start": 0.0, "end": 1.0, "middle": x}[anchor], y, words, anchor=anchor)

    def picture(self, height_px: float) -> Picture:
        """All of it."""
        return Picture(
            height_px=round(height_px + 0.5),
            marks="\n".join([*self.beneath, *self.marks]),
            cuts=tuple(self.cuts),
        )

    def _set(self, x: float, y: float, drawn: str, *, beneath: bool = False) -> None:
        """Something drawn in px about a place."""
        (self.beneath if beneath else self.marks).append(
            f'<svg x="{_share(x)}" y="{_px(y)}" overflow="visible">{drawn}</svg>'
        )


def _path(shape: Shape, radius: float, aside_px: float) -> str:
    end = "" if shape in (Shape.CROSS, Shape.PLUS) else "z"
    return "".join(
        "M" + "L".join(f"{_px(x * radius + aside_px)} {_px(y * radius)}" for x, y in corners) + end
        for corners in _OUTLINES[shape]
    )


def _corners(start: tuple[float, float], end: tuple[float, float]) -> str:
    (x1, y1), (x2, y2) = start, end
    return (
        f'x="{_share(x1)}" y="{_px(y1)}" width="{_share(x2 - x1)}" height="{_px(max(y2 - y1, 0))}"'
    )


def _outline(radius: float) -> str:
    return f' fill="none" stroke="currentColor" stroke-width="{_px(min(1.6, radius / 2))}"'


def _share(x: float) -> str:
    return f"{100 * x:.2f}".rstrip("0").rstrip(".") + "%"


def _px(y: float) -> str:
    text = f"{y:z.1f}"
    return text.removesuffix(".0")


def _weight(weight: float, of: str) -> str:
    return "" if weight == PLAIN else f' {of}-opacity="{weight:g}"'
