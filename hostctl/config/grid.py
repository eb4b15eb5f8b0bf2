"""Where a levelling measures: the points of its study, and those of its grid."""

from collections.abc import Iterator

from hostctl.config.machine import Machine, Point, Span
from hostctl.config.parts.level import Grid, Level
from hostctl.config.study import Study


def grid_points(grid: Grid, machine: Machine, gauge_kind: str) -> Iterator[Point]:
    """The points of a grid, as `grid-2-1`: column from the left, row from the front."""
    tool = machine.probe if gauge_kind == "probe" else machine.indicator
    offset_x_mm, offset_y_mm = (tool.offset_x_mm, tool.offset_y_mm) if tool else (0.0, 0.0)
    xs = _evenly(machine.travel.x, offset_x_mm, grid.across, grid.inset_mm)
    ys = _evenly(machine.travel.y, offset_y_mm, grid.back, grid.inset_mm)
    for row, y_mm in enumerate(ys, 1):
        for column, x_mm in enumerate(xs, 1):
            yield Point(name=f"grid-{column}-{row}", x_mm=x_mm, y_mm=y_mm)


def _evenly(span: Span, offset_mm: float, count: int, inset_mm: float) -> list[float]:
    """Over what both nozzle and tool reach of an axis."""
    low_mm = max(span.from_mm, span.from_mm + offset_mm) + inset_mm
    high_mm = min(span.to_mm, span.to_mm + offset_mm) - inset_mm
    return [round(low_mm + (high_mm - low_mm) * n / (count - 1), 3) for n in range(count)]


def level_of(study: Study) -> Level | None:
    """How a study levels; None: it doesn't."""
    return (study.level or Level()) if study.kind == "level" else None


def with_grid(study: Study, machine: Machine) -> Machine:
    """The machine with the points of the study's grid among its own; itself where there is none."""
    level = level_of(study)
    if level is None or level.grid is None:
        return machine
    more = grid_points(level.grid, machine, study.gauge.kind)
    return machine.model_copy(update={"points": [*machine.points, *more]})


def level_points(study: Study) -> list[str]:
    """Where a levelling measures: the study's own points, then those of its grid."""
    level = level_of(study)
    if level is None or level.grid is None:
        return list(study.points)
    grid = level.grid
    rows = range(1, grid.back + 1)
    more = [f"grid-{column}-{row}" for row in rows for column in range(1, grid.across + 1)]
    return [*study.points, *more]
