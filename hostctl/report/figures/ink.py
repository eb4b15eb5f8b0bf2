"""The few marks that all figures are made of: x as a share of the width, y in px."""

from dataclasses import dataclass, field
from html import escape
from typing import Literal

from hostctl.report.document.picture import Picture

Anchor = Literal["start", "middle", "end"]

TEXT_PX = 13
FAINT, PALE, PLAIN = 0.12, 0.45, 1.0  # weights of ink that print in grey as well


@dataclass(slots=True)
class Ink:
    """Marks, in the order in which they are put down."""

    marks: list[str] = field(default_factory=list)

    def dot(self, x: float, y: float, radius: float = 4.0, *, hollow: bool = False) -> None:
        """A reading, or an estimate."""
        ink = (
            'fill="none" stroke="currentColor" stroke-width="1.5"'
            if hollow
            else 'fill="currentColor"'
        )
        self._put(f'<circle cx="{_share(x)}" cy="{_px(y)}" r="{_px(radius)}" {ink}/>')

    def diamond(self, x: float, y: float, radius: float = 5.0) -> None:
        """What lies outside, or stands out: told from a dot by its shape."""
        r = _px(radius)
        path = f'<path class="accent" d="M0-{r}L{r} 0 0 {r}-{r} 0z" fill="currentColor"/>'
        self._put(f'<svg x="{_share(x)}" y="{_px(y)}" overflow="visible">{path}</svg>')

    def arrow(self, x: float, y: float, *, leftward: bool = False) -> None:
        """The end of what goes on beyond the scale."""
        tip = "M6-4L0 0 6 4" if leftward else "M-6-4L0 0-6 4"
        path = f'<path d="{tip}" fill="none" stroke="currentColor" stroke-width="2"/>'
        self._put(f'<svg x="{_share(x)}" y="{_px(y)}" overflow="visible">{path}</svg>')

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        *,
        width: float = 1.0,
        weight: float = PLAIN,
        dashed: bool = False,
    ) -> None:
        """From one place to another."""
        (x1, y1), (x2, y2) = start, end
        dash = ' stroke-dasharray="4 3"' if dashed else ""
        self._put(
            f'<line x1="{_share(x1)}" y1="{_px(y1)}" x2="{_share(x2)}" y2="{_px(y2)}" '
            f'stroke="currentColor" stroke-width="{_px(width)}"{_weight(weight, "stroke")}{dash}/>'
        )

    def box(
        self, start: tuple[float, float], end: tuple[float, float], *, weight: float = PLAIN
    ) -> None:
        """A filled area between two corners, the upper left one first."""
        (x1, y1), (x2, y2) = start, end
        self._put(
            f'<rect x="{_share(x1)}" y="{_px(y1)}" width="{_share(x2 - x1)}" '
            f'height="{_px(y2 - y1)}" fill="currentColor"{_weight(weight, "fill")}/>'
        )

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        anchor: Anchor = "start",
        bold: bool = False,
        size_px: int = TEXT_PX,
    ) -> None:
        """Words, their foot at y."""
        heavy = ' font-weight="600"' if bold else ""
        at = "" if anchor == "start" else f' text-anchor="{anchor}"'
        self._put(
            f'<text x="{_share(x)}" y="{_px(y)}" font-size="{size_px}" fill="currentColor"'
            f"{at}{heavy}>{escape(words, quote=False)}</text>"
        )

    def picture(self, height_px: int) -> Picture:
        """All of it."""
        return Picture(height_px=height_px, marks="\n".join(self.marks))

    def _put(self, mark: str) -> None:
        self.marks.append(mark)


def _share(x: float) -> str:
    return f"{100 * x:.2f}".rstrip("0").rstrip(".") + "%"


def _px(y: float) -> str:
    return f"{y:.1f}".rstrip("0").rstrip(".")


def _weight(weight: float, of: str) -> str:
    return "" if weight == PLAIN else f' {of}-opacity="{weight:g}"'
