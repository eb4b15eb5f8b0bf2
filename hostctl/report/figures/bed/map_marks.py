"""A bed map as vector marks: a plan to scale, as wide as a phone, on any page."""

from collections.abc import Iterator, Sequence
from itertools import product
from math import ceil, cos, hypot, pi, sin

from hostctl.report.document.picture import Picture
from hostctl.report.figures.bed.plan import Plan, ScrewSpot, Spot
from hostctl.report.figures.pen.ink import PALE, Ink, Shape
from hostctl.report.figures.pen.lettering import NARROW_PX, TEXT_PX, width_px
from hostctl.report.figures.pen.written import LINE_PX, LegendItem, as_sign, legend, paragraph

EDGE_PX = 24.0  # at each side of the plan, for discs and numbers that stand over it
MOST_HIGH_PX = 420.0
LEAST_HIGH_PX = 60.0
LARGEST_PX, SMALLEST_PX = 12.0, 2.0  # radius of the furthest height, and of the least
LEVEL_PX = 3.0
MOST_LEFT_OUT = 0.2  # of the numbers may find no room; else only two are written
ARC_PX, TIP_PX = 17.0, 5.0
FULL_DEG = 359.0
MIDDLE = 0.5

STEP_DEG = 20.0
SCREW_PX = 7.0  # half the square at a screw's place
SAME_PX = 3.0  # spots that are closer are one place
GAPS_PX = (0.0, 4.0, 8.0, 12.0, 16.0)  # so far from its mark a number may stand, the nearest first
CORNER = 0.7  # of a radius, in both directions, is on the circle

Box = tuple[float, float, float, float]
Ways = Sequence[tuple[int, int]]
"""Sides of a place: towards the middle of the plan and away from it, down and up."""
ASIDE_FIRST: Ways = ((1, 0), (-1, 0), (0, 1), (0, -1), (1, -1), (-1, -1), (1, 1), (-1, 1))
UPRIGHT_FIRST: Ways = ((0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1))


class _Paper:
    """Where things lie, in px from the middle of the picture and from its top."""

    def __init__(self, bed: Plan, top: float) -> None:
        self.bed, self.top = bed, top
        self.taken: list[Box] = []
        self.left, right, front, self.back = bed.corners()
        wide, deep = max(right - self.left, 1.0), max(self.back - front, 1.0)
        self.per_mm = min((NARROW_PX - 2 * EDGE_PX) / wide, MOST_HIGH_PX / deep)
        self.wide = wide * self.per_mm
        self.high = max(deep * self.per_mm, LEAST_HIGH_PX)

    def at(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Px from the middle, px from the top."""
        across = (x_mm - self.left) * self.per_mm - self.wide / 2
        return across, self.top + (self.back - y_mm) * self.per_mm

    def radius(self, spot: Spot) -> float:
        """The wider the further, one to one."""
        return max(LARGEST_PX * abs(spot.height_mm) / (self.bed.furthest_mm or 1.0), SMALLEST_PX)

    def numbered(self, spot: Spot) -> tuple[str, float, float] | None:
        """Its number, and where that stands; None where there is no room."""
        words = self.bed.written(spot.height_mm)
        frame = self._within(*self.at(spot.x_mm, spot.y_mm))
        place = self.room(spot.x_mm, spot.y_mm, words, self.radius(spot), UPRIGHT_FIRST, frame)
        return (words, *place) if place is not None else None

    def room(
        self,
        x_mm: float,
        y_mm: float,
        words: str,
        away: float,
        ways: Ways,
        frame: Box | None = None,
    ) -> tuple[float, float] | None:
        """Middle and foot of words next to a place, on the first side with room; None without.

        away: px that its own mark reaches. Words stand nearer to it than to any other spot.
        """
        x, y = self.at(x_mm, y_mm)
        half, high = width_px(words) / 2, TEXT_PX
        inwards = -1 if x > 0 else 1
        for gap, (aside, down) in product(GAPS_PX, ways):
            off = (away + gap) * (CORNER if aside and down else 1.0)
            across = x + inwards * aside * (off + half + 3)
            foot = y + down * (off + high / 2 + 2) + high / 3
            box = (across - half, foot - high + 2, across + half, foot + 2)
            if self._is_free(box, frame) and self._is_nearest(box, x, y, min(away, LARGEST_PX)):
                self.taken.append(box)
                return across, foot
        return None

    def _is_free(self, box: Box, frame: Box | None) -> bool:
        left, top, right, bottom = frame or self._paper()
        holds = left <= box[0] and box[2] <= right and top <= box[1] and box[3] <= bottom
        return holds and not any(_meet(box, one) for one in self.taken)

    def _is_nearest(self, box: Box, x: float, y: float, away: float) -> bool:
        """Whether no spot elsewhere is closer to it, so that none takes it for its own."""
        own = _between(box, x, y) - away
        for spot in self.bed.spots:
            other_x, other_y = self.at(spot.x_mm, spot.y_mm)
            apart = hypot(other_x - x, other_y - y) > SAME_PX
            if apart and _between(box, other_x, other_y) - self.radius(spot) < own:
                return False
        return True

    def _paper(self) -> Box:
        """As wide as a phone, above the legend and not above the top."""
        most = NARROW_PX / 2
        return -most, 0.0, most, self.top + self.high + EDGE_PX + LINE_PX

    def _within(self, x: float, y: float) -> Box | None:
        """The bed's frame, for what lies in it."""
        edge = self.bed.outline
        if edge is None:
            return None
        left, top = self.at(edge.left_mm, edge.back_mm)
        right, bottom = self.at(edge.right_mm, edge.front_mm)
        inside = left <= x <= right and top <= y <= bottom
        return (left + 1, top + 1, right - 1, bottom - 1) if inside else None


def drawn_map(bed: Plan) -> Picture:
    """The plan; what its marks mean; each screw in words."""
    ink = Ink()
    plan = _Paper(bed, LINE_PX + EDGE_PX)
    _side(ink, plan, "back", LINE_PX - 4)
    front = plan.top + plan.high + EDGE_PX + LINE_PX - 4
    _side(ink, plan, "front", front)
    _outline(ink, plan)
    for spot in bed.spots:
        _reserve(plan, *plan.at(spot.x_mm, spot.y_mm), plan.radius(spot))
    for letter, screw in bed.called():
        _screw(ink, plan, letter, screw)
    for spot in bed.spots:
        _spot(ink, plan, spot)
    all_numbered = _numbered(ink, plan)
    y = legend(ink, front + 8, list(_meanings(bed)))
    y = paragraph(ink, y, f"Seen from above. {_caption(bed, all_numbered=all_numbered)}")
    for says in _screws_said(bed):
        y = paragraph(ink, y + 2, says)
    return ink.picture(y + 2)


def _caption(bed: Plan, *, all_numbered: bool) -> str:
    furthest = bed.written(bed.furthest_mm).lstrip("+")
    which = "" if all_numbered else ", of the highest and the lowest"
    return f"Numbers: mm from {bed.about}{which}; the widest mark is {furthest} mm off."


def _meanings(bed: Plan) -> Iterator[LegendItem]:
    yield as_sign(Shape.DOT, 5.0), "above"
    yield as_sign(Shape.RING, 5.0), "below"
    if any(map(bed.is_level, bed.spots)):
        yield as_sign(Shape.PLUS, 3.0), "neither"


def _screws_said(bed: Plan) -> Iterator[str]:
    for letters, says in bed.said():
        yield f"{letters}  {says}"
    if bed.from_below and any(screw.turn_deg for screw in bed.screws):
        yield "Arcs go the way the words say, as seen from where one stands."


def _side(ink: Ink, plan: _Paper, words: str, foot: float) -> None:
    """A side of the bed by name, over which nothing else is written."""
    ink.text(MIDDLE, foot, words, anchor="middle")
    half = width_px(words) / 2
    plan.taken.append((-half, foot - TEXT_PX, half, foot + 4))


def _outline(ink: Ink, plan: _Paper) -> None:
    edge = plan.bed.outline
    if edge is None:
        return
    x1, y1 = plan.at(edge.left_mm, edge.back_mm)
    x2, y2 = plan.at(edge.right_mm, edge.front_mm)
    path = f"M{x1:.1f} 0H{x2:.1f}V{y2 - y1:.1f}H{x1:.1f}z"
    ink.traced(MIDDLE, y1, path, weight=PALE, beneath=True)


def _spot(ink: Ink, plan: _Paper, spot: Spot) -> None:
    """Its mark."""
    x, y = plan.at(spot.x_mm, spot.y_mm)
    level = plan.bed.is_level(spot)
    shape = Shape.PLUS if level else Shape.DOT if spot.height_mm > 0 else Shape.RING
    ink.sign(shape, MIDDLE, y, LEVEL_PX if level else plan.radius(spot), aside_px=x or 0.01)


def _numbered(ink: Ink, plan: _Paper) -> bool:
    """The number of each spot, if nearly all find room; else of the highest and the lowest."""
    before = list(plan.taken)
    found = [plan.numbered(spot) for spot in plan.bed.spots]
    crowded = found.count(None) > MOST_LEFT_OUT * len(found)
    if crowded:
        plan.taken = before
        ordered = sorted(plan.bed.spots, key=lambda spot: spot.height_mm)
        found = [plan.numbered(spot) for spot in (ordered[0], ordered[-1])]
    for words, across, foot in filter(None, found):
        ink.text(MIDDLE, foot, words, anchor="middle", aside_px=across)
    return not crowded


def _screw(ink: Ink, plan: _Paper, letter: str, screw: ScrewSpot) -> None:
    """Its place as a pale square, its turn as an arc with a tip, and its letter."""
    x, y = plan.at(screw.x_mm, screw.y_mm)
    ink.traced(MIDDLE, y, _square(x, SCREW_PX), weight=PALE)
    if screw.turn_deg:
        ink.traced(MIDDLE, y, _arc(x, ARC_PX, screw.turn_deg), width=2.5)
        ink.traced(MIDDLE, y, _tip(x, ARC_PX, screw.turn_deg), width=2.0)
        for across, down in _along(x, screw.turn_deg):
            _reserve(plan, across, y + down, TIP_PX)
    away = ARC_PX if screw.turn_deg else SCREW_PX
    place = plan.room(screw.x_mm, screw.y_mm, letter, away, ASIDE_FIRST)
    if place is not None:
        ink.text(MIDDLE, place[1], letter, anchor="middle", bold=True, aside_px=place[0])


def _reserve(plan: _Paper, x: float, y: float, radius: float) -> None:
    plan.taken.append((x - radius, y - radius, x + radius, y + radius))


def _between(box: Box, x: float, y: float) -> float:
    """Px from a place to a box; 0 within it."""
    return hypot(max(box[0] - x, 0.0, x - box[2]), max(box[1] - y, 0.0, y - box[3]))


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _on(x: float, radius: float, angle_deg: float) -> tuple[float, float]:
    """On a circle about x px, so many degrees clockwise from the top."""
    angle = angle_deg * pi / 180
    return x + radius * sin(angle), -radius * cos(angle)


def _square(x: float, half: float) -> str:
    return f"M{x - half:.1f} {-half:.1f}h{2 * half:.1f}v{2 * half:.1f}h{-2 * half:.1f}z"


def _along(x: float, turn_deg: float) -> Iterator[tuple[float, float]]:
    """Places along an arc, close enough to keep words off it."""
    drawn = max(min(turn_deg, FULL_DEG), -FULL_DEG)
    steps = ceil(abs(drawn) / STEP_DEG)
    yield from (_on(x, ARC_PX, drawn * step / steps) for step in range(steps + 1))


def _arc(x: float, radius: float, turn_deg: float) -> str:
    """From the top, the way the screw is turned; a turn and more goes all the way round."""
    drawn = max(min(turn_deg, FULL_DEG), -FULL_DEG)
    end_x, end_y = _on(x, radius, drawn)
    round_px = f"{radius:.1f} {radius:.1f}"
    large, sweep = int(abs(drawn) > 180), int(drawn > 0)
    return f"M{x:.1f} {-radius:.1f}A{round_px} 0 {large} {sweep} {end_x:.1f} {end_y:.1f}"


def _tip(x: float, radius: float, turn_deg: float) -> str:
    """An open arrow head at the end of the arc."""
    drawn = max(min(turn_deg, FULL_DEG), -FULL_DEG)
    back = 20 if drawn > 0 else -20
    end_x, end_y = _on(x, radius, drawn)
    feet = [_on(x, radius + off, drawn - back) for off in (TIP_PX, -TIP_PX)]
    (x1, y1), (x2, y2) = feet
    return f"M{x1:.1f} {y1:.1f}L{end_x:.1f} {end_y:.1f}L{x2:.1f} {y2:.1f}"
