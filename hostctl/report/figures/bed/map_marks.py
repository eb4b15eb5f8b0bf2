"""A bed map as vector marks: a plan to scale, as wide as a phone, on any page."""

from collections.abc import Iterator
from math import cos, hypot, pi, sin

from hostctl.report.document.picture import Picture
from hostctl.report.figures.bed.plan import Plan, ScrewSpot, Spot
from hostctl.report.figures.pen.ink import FAINT, PALE, Ink, Shape
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

Box = tuple[float, float, float, float]


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
        x, y = self.at(spot.x_mm, spot.y_mm)
        away = self.radius(spot)
        for screw in self.bed.screws:
            across, down = self.at(screw.x_mm, screw.y_mm)
            if hypot(across - x, down - y) < ARC_PX + away:
                away = ARC_PX + TIP_PX + hypot(across - x, down - y)
        words = self.bed.written(spot.height_mm)
        place = self.room(x, y, words, away)
        return (words, *place) if place is not None else None

    def room(
        self, x: float, y: float, words: str, away: float, *, beside: bool = False
    ) -> tuple[float, float] | None:
        """Middle and foot of words at a place: below, above, right or left of it; beside: first
        where the middle of the plan is. None where all of these are taken."""
        half, high = width_px(words) / 2, TEXT_PX
        aside = (away + half + 3) * (-1 if x > 0 else 1)
        level = [(x + aside, y + high / 3), (x - aside, y + high / 3)]
        upright = [(x, y + away + high), (x, y - away - 4)]
        for across, foot in [*level, *upright] if beside else [*upright, *level]:
            box = (across - half, foot - high, across + half, foot + 1)
            if self._holds(box) and not any(_meet(box, one) for one in self.taken):
                self.taken.append(box)
                return across, foot
        return None

    def _holds(self, box: Box) -> bool:
        """Whether it lies within the width of a phone, above the legend and not above the top."""
        most = NARROW_PX / 2
        lowest = self.top + self.high + EDGE_PX + LINE_PX
        return -most <= box[0] and box[2] <= most and box[1] >= 0.0 and box[3] <= lowest


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
    """Its place as a faint ring, its turn as an arc with a tip, and its letter."""
    x, y = plan.at(screw.x_mm, screw.y_mm)
    ink.traced(MIDDLE, y, _circle(x, ARC_PX), weight=PALE if not screw.turn_deg else FAINT * 2)
    if screw.turn_deg:
        ink.traced(MIDDLE, y, _arc(x, ARC_PX, screw.turn_deg), width=2.5)
        ink.traced(MIDDLE, y, _tip(x, ARC_PX, screw.turn_deg), width=2.0)
    _reserve(plan, x, y, ARC_PX + TIP_PX)
    place = plan.room(x, y, letter, ARC_PX + TIP_PX, beside=True)
    if place is not None:
        ink.text(MIDDLE, place[1], letter, anchor="middle", bold=True, aside_px=place[0])


def _reserve(plan: _Paper, x: float, y: float, radius: float) -> None:
    plan.taken.append((x - radius, y - radius, x + radius, y + radius))


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _on(x: float, radius: float, angle_deg: float) -> tuple[float, float]:
    """On a circle about x px, so many degrees clockwise from the top."""
    angle = angle_deg * pi / 180
    return x + radius * sin(angle), -radius * cos(angle)


def _circle(x: float, radius: float) -> str:
    return f"M{x:.1f} {-radius:.1f}a{radius:.1f} {radius:.1f} 0 1 1 -.01 0z"


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
