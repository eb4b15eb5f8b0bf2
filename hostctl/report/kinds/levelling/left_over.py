"""What no screw can mend: the bed's own shape, and why heights alone don't say whose it is."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.report.analysis.told.words import listed
from hostctl.report.document.blocks import Block, Column, Figure, Heading, Paragraph, Table
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import in_mm, significant
from hostctl.report.figures.bed.bed_map import BedMap
from hostctl.report.figures.bed.plan import Spot
from hostctl.report.kinds.levelling.first import outline_of
from hostctl.report.kinds.levelling.result import LevelResult, WarpFound
from hostctl.report.kinds.levelling.words import estimate_words, signed, step_of

_ABOUT_PLANE = "its plane"
_SIGNS = (
    "Twist: so far above the plane stand the corners front left and back right, and so far below "
    "it the other two. Bow: so far the edges stand above the middle."
)


def what_is_left(result: LevelResult) -> Iterator[Block]:
    """Twist, bow and flatness, a map of them, and what heights alone can't tell."""
    if len(result.last.heights) == 3:
        return
    warp = result.warp
    yield Heading(text="What can no screw mend?")
    yield _figure(result)
    yield Table(
        columns=(Column(head="shape"), Column(head="mm (95 %)", is_number=True)),
        rows=tuple(_rows(warp)),
    )
    yield Paragraph(text=_SIGNS)
    if untold := _untold(warp):
        yield Paragraph(text=untold)
    yield Paragraph(
        text=f"Two planes {significant(warp.minimum_zone_mm, 3)} mm apart hold all points between "
        f"them, and none closer together do (minimum zone, ISO 12781-1, from memory); "
        f"{listed(warp.between)} {'pins' if len(warp.between) == 1 else 'pin'} them."
    )
    if len(result.screws) > 3:
        yield Paragraph(text=_strained(result))


def _rows(warp: WarpFound) -> Iterator[tuple[str, str]]:
    yield "twist", estimate_words(warp.twist)
    if isinstance(warp.bow_x, NotYet) and isinstance(warp.bow, Estimate):
        yield "bow, both ways together", estimate_words(warp.bow)
    else:
        yield "bow from left to right", estimate_words(warp.bow_x)
        yield "bow from front to back", estimate_words(warp.bow_y)
    yield "out of flat, minimum zone", significant(warp.minimum_zone_mm, 3)
    yield "out of flat, about the fitted plane", significant(warp.least_squares_mm, 3)


def _untold(warp: WarpFound) -> str:
    """Why figures can't be had, each reason once; empty where all are told."""
    shapes = {
        "twist": warp.twist,
        "bow from left to right": warp.bow_x,
        "bow from front to back": warp.bow_y,
    }
    reasons = {name: one.reason for name, one in shapes.items() if isinstance(one, NotYet)}
    alone = {
        name: float(one.numbers["value"])
        for name, one in reasons.items()
        if one.code is Why.NO_POINT_FOR_DOUBT
    }
    said = [reason_words(one) for name, one in reasons.items() if name not in alone]
    if alone:
        values = listed([f"{name} ({signed(value_mm)} mm)" for name, value_mm in alone.items()])
        said.append(f"of {values} how sure, with so few points; measure more, or each point twice")
    return f"Not told: {'; '.join(dict.fromkeys(said))}." if said else ""


def _figure(result: LevelResult) -> Figure:
    last = result.last
    step = step_of(last.heights)
    off = [one.off_plane_mm for one in last.heights]
    return Figure(
        drawing=BedMap(
            spots=tuple(
                Spot(name=one.point, x_mm=one.x_mm, y_mm=one.y_mm, height_mm=one.off_plane_mm)
                for one in last.heights
            ),
            screws=(),
            outline=outline_of(result),
            about=_ABOUT_PLANE,
            step_mm=step,
        ),
        says=f"Off its plane: from {in_mm(min(off), step)} to {in_mm(max(off), step)} mm.",
        name="warp",
    )


def _strained(result: LevelResult) -> str:
    count = len(result.screws)
    return (
        f"Three screws would place this bed; {count} can also bend it. Heights alone can't tell "
        "whether what is left is the bed's own shape or what its screws do to it. The turns "
        "advised here bend it no further: they follow one plane. To find out, slacken one screw, "
        "name it in the study (slackened), and level again: what stays is the bed's own."
    )
