"""Numbers of a bed map stand next to their own dots and within its frame, as drawn."""

import re
from itertools import product
from math import hypot

import pytest

from hostctl.report.figures.bed.bed_map import BedMap
from hostctl.report.figures.bed.plan import Outline, ScrewSpot, Spot
from hostctl.report.figures.pen.lettering import TEXT_PX, width_px

FRAME = Outline(left_mm=0, right_mm=220, front_mm=0, back_mm=220)
PER_MM = (358 - 48) / 220
"""A phone's width less both edges, for the bed's."""
TEXT = re.compile(r'<text x="50%" y="([\d.]+)"[^>]*?(?: dx="([-\d.]+)")?>([−+\d.]+)</text>')
CIRCLE = re.compile(r'<svg x="50%" y="([\d.]+)"[^>]*><circle cx="([-\d.]+)" cy="0" r="([\d.]+)"')
NEXT_TO_PX = 20.0


def bed(spots: list[tuple[float, float]], screws: list[tuple[float, float]]) -> BedMap:
    """Heights all differ, so that each number tells whose it is."""
    return BedMap(
        spots=tuple(
            Spot(name=f"p{n}", x_mm=x, y_mm=y, height_mm=(-1) ** n * (0.01 + 0.003 * n))
            for n, (x, y) in enumerate(spots)
        ),
        screws=tuple(
            ScrewSpot(name=f"s{n}", x_mm=x, y_mm=y, turn_deg=80.0 * (n - 1), words="turned")
            for n, (x, y) in enumerate(screws)
        ),
        outline=FRAME,
        about="the mean height",
        step_mm=0.001,
    )


GRID = list(product((22.0, 110.0, 198.0), (30.0, 110.0, 198.0)))
THREE = [(29.5, 29.0), (190.0, 29.0), (110.0, 190.0)]
"""Screws, and points of a grid a few millimetres off them."""
FOUR = [(30.0, 30.0), (190.0, 30.0), (30.0, 190.0), (190.0, 190.0)]
GRID_OFF = list(product((55.0, 122.0, 190.0), (30.0, 110.0, 190.0)))
LAYOUTS = {"three": bed(THREE + GRID, THREE), "four": bed(FOUR + GRID_OFF, FOUR)}


@pytest.mark.parametrize("figure", LAYOUTS.values(), ids=LAYOUTS)
def test_each_number_stands_next_to_its_own_dot_and_in_the_frame(figure: BedMap):
    marks = figure.in_svg().marks
    texts = {words: (float(dx or 0), float(y)) for y, dx, words in TEXT.findall(marks)}
    top = 41.0
    for spot in figure.spots:
        x, y = (spot.x_mm - 110) * PER_MM, top + (220 - spot.y_mm) * PER_MM
        radius = min(
            (float(r) for cy, cx, r in CIRCLE.findall(marks) if _close(x, y, float(cx), float(cy))),
        )
        across, foot = texts[figure.written(spot.height_mm)]
        half = width_px(figure.written(spot.height_mm)) / 2
        off_x = max(abs(across - x) - half, 0.0)
        off_y = max(foot - TEXT_PX - y, y - foot, 0.0)
        assert hypot(off_x, off_y) - radius <= NEXT_TO_PX
        assert across - half >= -110 * PER_MM
        assert across + half <= 110 * PER_MM
        assert top <= foot - TEXT_PX + 3
        assert foot <= top + 220 * PER_MM


def _close(x: float, y: float, other_x: float, other_y: float) -> bool:
    return hypot(x - other_x, y - other_y) < 0.2


def test_a_screw_that_stays_leaves_the_dots_about_it_in_sight():
    """Only a pale square is drawn at it, and the dots after it."""
    marks = LAYOUTS["three"].in_svg().marks
    squares = [place.start() for place in re.finditer("h14.0v14.0h-14.0z", marks)]
    assert len(squares) == 3
    assert max(squares) < min(place.start() for place in re.finditer("<circle", marks))
    assert marks.count("A17.0 17.0") == 2
