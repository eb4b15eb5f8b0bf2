"""A levelling's formulas, with its own numbers in them."""

from collections.abc import Iterator

from hostctl.report.document.blocks import Block, Heading, Items
from hostctl.report.document.significant import MINUS, significant
from hostctl.report.kinds.levelling.result import LevelResult, PlaneFound, TurnFound
from hostctl.report.kinds.levelling.words import freedom_words, is_turned, signed, with_doubt


def with_these_numbers(result: LevelResult) -> Iterator[Block]:
    """The plane, the tilt, and one turn, worked out."""
    last = result.last
    yield Heading(text="The plane", level=2)
    yield Items(items=tuple(_plane(last.plane)), bulleted=False)
    yield Heading(text="The tilt", level=2)
    yield Items(items=tuple(_tilt(result)), bulleted=False)
    turned = [turn for one in result.rounds for turn in one.turns if is_turned(turn)]
    if turned:
        yield Heading(text="A turn", level=2)
        yield Items(items=tuple(_turn(result, turned[0])), bulleted=False)


def _plane(plane: PlaneFound) -> Iterator[str]:
    slopes = (
        ("x", plane.slope_x_mm_per_m, plane.u_slope_x_mm_per_m, plane.middle_x_mm),
        ("y", plane.slope_y_mm_per_m, plane.u_slope_y_mm_per_m, plane.middle_y_mm),
    )
    terms = [
        f"{MINUS if slope < 0 else '+'} {with_doubt(abs(slope), u)} mm/m · "
        f"({axis} {MINUS} {middle:.4g} mm)"
        for axis, slope, u, middle in slopes
    ]
    level = with_doubt(plane.middle_height_mm, plane.sd_mm)
    yield f"height = {level} mm {' '.join(terms)}, by least squares"
    if plane.sd_mm is not None:
        yield (
            f"u of a height = {significant(plane.sd_mm, 3)} mm on "
            f"{freedom_words(plane.df)} degrees of freedom"
        )
    if plane.u_slope_x_mm_per_m is not None and plane.u_slope_y_mm_per_m is not None:
        yield (
            f"u of the slopes = {significant(plane.u_slope_x_mm_per_m, 3)} and "
            f"{significant(plane.u_slope_y_mm_per_m, 3)} mm/m (by the covariance of the "
            "heights; JCGM 100:2008 H.3 does the same for a line)"
        )


def _tilt(result: LevelResult) -> Iterator[str]:
    last = result.last
    on_plane = {one.point: _height(last.plane, one.x_mm, one.y_mm) for one in last.heights}
    for screw in result.screws:
        name = f"the {screw.name} screw"
        on_plane[name] = _height(last.plane, screw.x_mm, screw.y_mm)
    high, low = max(on_plane, key=on_plane.__getitem__), min(on_plane, key=on_plane.__getitem__)
    where = f"{len(last.heights)} points and {len(result.screws)} screws"
    yield (
        f"over {where} the plane is highest at {high}, {signed(on_plane[high], 4)} mm, lowest at "
        f"{low}, {signed(on_plane[low], 4)} mm"
    )
    yield f"tilt = {on_plane[high] - on_plane[low]:.4f} mm"
    if last.tilt.high_mm is not None:
        half = last.tilt.high_mm - last.tilt.value_mm
        yield f"its interval (95 %) reaches {half:.4f} mm up (every slope at once: Scheffé 1953)"


def _height(plane: PlaneFound, x_mm: float, y_mm: float) -> float:
    """Of the plane at a place, about that at its middle."""
    along_x = plane.slope_x_mm_per_m * (x_mm - plane.middle_x_mm)
    along_y = plane.slope_y_mm_per_m * (y_mm - plane.middle_y_mm)
    return (along_x + along_y) / 1000


def _turn(result: LevelResult, turn: TurnFound) -> Iterator[str]:
    screw = next((one for one in result.screws if one.name == turn.screw), None)
    if screw is None:
        return
    yield (
        f"{turn.screw}: to be raised {signed(turn.raise_mm, 4)} mm; a full turn moves it "
        f"{screw.pitch_mm:g} mm"
    )
    if turn.u_mm is not None and turn.half_deg is not None and turn.df is not None:
        half_mm = turn.half_deg * screw.pitch_mm / 360
        yield (
            f"95 %: t · u = {half_mm / turn.u_mm if turn.u_mm else 0:.3f} · {turn.u_mm:.4f} mm = "
            f"{half_mm:.4f} mm, or {turn.half_deg:.1f}° (Student's t on "
            f"{freedom_words(turn.df)} degrees of freedom, JCGM 100:2008 G.3)"
        )
    yield (f"360° · {abs(turn.raise_mm):.4f} mm / {screw.pitch_mm:g} mm = {turn.turn_deg:.1f}°")
