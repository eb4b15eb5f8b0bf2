"""One figure as a file of its own, for a slide, a post or a video: 1920 x 1080."""

from html import escape

from hostctl.errors import HostctlError
from hostctl.report.document.blocks import Figure
from hostctl.report.figures.pen.lettering import TEXT_PX, lines, plain

WIDE_PX, HIGH_PX = 1920, 1080
NARROWEST = 640.0  # px of the figure over the whole width; so letters are at most 3 times as large
MARGIN = 24.0
TITLE_PX, SAYS_PX = 20.0, 15.0
FAMILY = (
    "DejaVu Sans, Liberation Sans, Noto Sans, Arial, Helvetica Neue, Helvetica, Segoe UI, Verdana, "
    "Roboto, Ubuntu, Cantarell, Open Sans, FreeSans, Nimbus Sans, sans-serif"
)
INK, PAPER, ACCENT = "#1a1a1a", "#ffffff", "#a02c1c"
TRIES = 12


def alone(figure: Figure, title: str) -> str:
    """An SVG file: the title, the figure as large as it can be, and what it says below it."""
    drawn = figure.drawing.in_svg()
    wide = NARROWEST
    for _ in range(TRIES):
        above = _words(title, wide, TITLE_PX, bold=True)
        below = _words(figure.says, wide, SAYS_PX)
        spare = (
            2 * MARGIN + (1.4 * TITLE_PX * len(above) + 1.4 * SAYS_PX * len(below)) + 1.5 * MARGIN
        )
        needed = max(NARROWEST, (drawn.height_px + spare) * WIDE_PX / HIGH_PX)
        if needed <= wide:
            break
        wide = needed
    high = wide * HIGH_PX / WIDE_PX
    top = MARGIN + (high - spare - drawn.height_px) / 2 + MARGIN / 2
    at = top + 1.4 * TITLE_PX * len(above) + MARGIN / 2
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE_PX}" height="{HIGH_PX}" '
            f'viewBox="0 0 {wide:.1f} {high:.1f}" color="{INK}" font-family="{FAMILY}" '
            f'font-size="{TEXT_PX}">',
            f"<style>.accent{{color:{ACCENT}}}</style>",
            f'<rect width="100%" height="100%" fill="{PAPER}"/>',
            *_set(above, top, TITLE_PX, bold=True),
            f'<svg x="{MARGIN}" y="{at:.1f}" width="{wide - 2 * MARGIN:.1f}" '
            f'height="{drawn.height_px}" overflow="visible">',
            drawn.marks,
            "</svg>",
            *_set(below, at + drawn.height_px + MARGIN / 2, SAYS_PX),
            "</svg>\n",
        ]
    )


def as_png(svg: str) -> bytes:
    """The file as pixels, 1920 x 1080.

    Raises HostctlError without the extra `png`, and where no font is found with which to draw
    words: they would be left out without a sign.
    """
    try:
        from resvg_py import svg_to_bytes
    except ImportError as missing:
        raise HostctlError(
            "PNG",
            "what draws pixels is not installed",
            "Install it with `pip install 'printer-hostctl[png]'`, or take the SVG, which needs "
            "nothing.",
        ) from missing
    if svg_to_bytes(svg_string=_sample("H")) == svg_to_bytes(svg_string=_sample("")):
        raise HostctlError(
            "PNG",
            "no common font was found, so that the picture would have no words",
            "Install one, such as DejaVu Sans (package fonts-dejavu-core), or take the SVG, which "
            "is drawn with the fonts of whoever looks at it.",
        )
    return bytes(svg_to_bytes(svg_string=svg, width=WIDE_PX, height=HIGH_PX))


def _sample(words: str) -> str:
    """A very small picture of some words alone."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="20" height="20">'
        f'<text y="16" font-size="16" font-family="{FAMILY}">{words}</text></svg>'
    )


def _words(words: str, wide: float, size_px: float, *, bold: bool = False) -> list[str]:
    """In lines that fit between the margins."""
    room = (wide - 2 * MARGIN) * TEXT_PX / size_px
    return lines(plain(words), room, bold=bold)


def _set(said: list[str], top: float, size_px: float, *, bold: bool = False) -> list[str]:
    heavy = ' font-weight="600"' if bold else ""
    return [
        f'<text x="{MARGIN}" y="{top + size_px * (1 + 1.4 * place):.1f}" font-size="{size_px}" '
        f'fill="currentColor"{heavy}>{escape(line, quote=False)}</text>'
        for place, line in enumerate(said)
    ]
