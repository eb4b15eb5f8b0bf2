"""The course of a loop on a terminal."""

from hostctl.report.figures.loops.marks import MOST_HOMINGS, Course
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.scale import Scale, off_the_scale

ROWS, MOST = 13, 60
SIGNS = "●○"
BEYOND, LIMIT, BAR, HOMED, STOOD = "◆", "┄", "│", "h", "s"

Grid = list[list[str]]


def course_in_text(course: Course) -> str:
    """Thirteen rows, time to the right, and a row of what happened between touches."""
    rise = course.rise()
    labels = _labels(rise)
    wide = max(map(len, labels.values()))
    out = [
        f"{labels.get(row, ''):>{wide}} ┤{''.join(cells)}".rstrip()
        for row, cells in enumerate(_grid(course, rise))
    ]
    happened = _happened(course)
    said = [happened] if happened.strip() else []
    for words in (course.foot(), _signs(course), off_the_scale(course.cut(rise))):
        said += terminal.broken(words, terminal.WIDTH - wide - 2)
    return "\n".join([*out, *(f"{'':{wide + 2}}{line}" for line in said)])


def _row(rise: Scale, value: float) -> int:
    return ROWS - 1 - terminal.column(rise, value, ROWS)


def _labels(rise: Scale) -> dict[int, str]:
    labels = {_row(rise, 0.0): "0"}
    for value, word in rise.levels(signed=True):
        labels.setdefault(_row(rise, value), word)
    return labels


def _width(course: Course) -> int:
    return min(course.touches, MOST)


def _at(course: Course, touch: float) -> int:
    """In which column of the terminal a touch lies."""
    return min(int((touch - 1) / course.touches * _width(course)), _width(course) - 1)


def _grid(course: Course, rise: Scale) -> Grid:
    grid = [[" "] * _width(course) for _ in range(ROWS)]
    grid[_row(rise, 0.0)] = ["─"] * _width(course)
    for first, last, *pair in course.limits():
        for column in range(_at(course, first), _at(course, last) + 1):
            for end in pair:
                grid[_row(rise, end)][column] = LIMIT
    for one in course.columns:
        column = _at(course, (one.first + one.last) / 2)
        for row in range(_row(rise, one.high_mm), _row(rise, one.low_mm) + 1):
            if one.count > 1 and grid[row][column] not in SIGNS:
                grid[row][column] = BAR
        grid[_row(rise, one.mean_mm)][column] = SIGNS[one.side]
    for touch, off_mm in course.beyond:
        grid[_row(rise, off_mm)][_at(course, touch)] = BEYOND
    return grid


def _happened(course: Course) -> str:
    row = [" "] * _width(course)
    homed = course.homed_before if len(course.homed_before) <= MOST_HOMINGS else ()
    for touch in homed:
        row[_at(course, touch)] = HOMED
    for touch in course.halted_before:
        row[_at(course, touch)] = STOOD
    return "".join(row)


def _signs(course: Course) -> str:
    mean = "mean of those" if course.is_binned else "a touch"
    if course.sides:
        said = [
            f"{sign} {mean}, from the {side}"
            for sign, side in zip(SIGNS, course.sides, strict=True)
        ]
    else:
        said = [f"{SIGNS[0]} {mean}"]
    if course.is_binned:
        said.append(f"{BAR} from the lowest to the highest")
    if any(course.limits()):
        said.append(f"{LIMIT} control limits")
    if course.beyond:
        said.append(f"{BEYOND} beyond its limits")
    if 0 < len(course.homed_before) <= MOST_HOMINGS:
        said.append(f"{HOMED} homed")
    if course.halted_before:
        said.append(f"{STOOD} stood still")
    return "; ".join(said)
