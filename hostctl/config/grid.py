"""Where a levelling measures: the points of its study, and those of its grid; what fits it."""

from collections.abc import Iterator, Sequence

from hostctl.config.machine import BedScrew, Machine, Point, Span
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


Misfit = tuple[tuple[str | int, ...], str, str]
"""Where in the study file, what is wrong, and what to do."""
FEWEST = 3
"""So many points or screws hold a plane."""
CLEARANCE_MM = 1.0
"""Between the nozzle and a bed at z = 0 while an indicator reads heights (choice ours)."""


def level_misfits(study: Study, machine: Machine) -> Iterator[Misfit]:
    """What keeps a levelling from this machine; nothing for every other study."""
    level = level_of(study)
    if level is None:
        return
    yield from _screw_misfits(study, level, machine)
    if level.grid is not None and not _has_room(level.grid, machine, study.gauge.kind):
        what = f"level.grid.inset_mm: {level.grid.inset_mm:g} mm leaves nothing between"
        yield ("level", "grid", "inset_mm"), what, "Give less."
        return
    places = {point.name: point for point in with_grid(study, machine).points}
    met = [places[name] for name in level_points(study) if name in places]
    if not _hold_a_plane(_places(met)):
        what = "points: heights are measured at fewer than three places, or on one line"
        yield ("points",), what, "Name more points, or give level.grid."
    yield from _name_misfits(level, machine, list(places))
    yield from _press_misfits(study, level, machine)


def _screw_misfits(study: Study, level: Level, machine: Machine) -> Iterator[Misfit]:
    """Three screws or more; or two, and a corner that is fixed."""
    screws = [screw for screw in machine.screws if screw.name != level.slackened]
    names = [screw.name for screw in screws]
    carried: list[Point | BedScrew] = [*screws]
    if len(screws) == FEWEST - 1 and level.keep not in names:
        points = with_grid(study, machine).points
        carried += [point for point in points if point.name == level.keep]
    if not _hold_a_plane(_places(carried)):
        what = f"kind: machine '{machine.machine}' names no three screws, off one line, to turn"
        more = "Add 'screws:' to the machine file: their places and pitches; with two screws "
        yield (
            ("kind",),
            what,
            f"{more}name the fixed corner, a point off their line, as level.keep.",
        )
    elif len(screws) < FEWEST and level.raise_mm:
        what = "level.raise_mm: a bed that is fixed at a corner is not raised as a whole"
        yield ("level", "raise_mm"), what, "Give 0."


def _name_misfits(level: Level, machine: Machine, points: list[str]) -> Iterator[Misfit]:
    turned = [screw.name for screw in machine.screws]
    known = list(dict.fromkeys([*points, *turned]))
    if level.keep is not None and level.keep not in known:
        what = f"level.keep: '{level.keep}' is no screw and no point of machine"
        yield ("level", "keep"), f"{what} '{machine.machine}'", f"Known: {', '.join(known)}."
    if level.slackened is not None and level.slackened not in turned:
        what = f"level.slackened: '{level.slackened}' is no screw of machine"
        yield ("level", "slackened"), f"{what} '{machine.machine}'", "Name one, or null."


def _press_misfits(study: Study, level: Level, machine: Machine) -> Iterator[Misfit]:
    tip, at = machine.indicator, ("level", "press_mm")
    if study.gauge.kind == "probe" or tip is None:
        return
    if level.press_mm < tip.pre_load_mm:
        what = f"level.press_mm: is below the indicator's pre_load_mm, {tip.pre_load_mm:g}"
        yield at, what, "Give at least that."
    most_mm = tip.reading_z_mm + tip.pre_load_mm - max(CLEARANCE_MM, machine.travel.z.from_mm)
    if level.press_mm > most_mm:
        what = f"level.press_mm: {level.press_mm:g} mm brings the nozzle within {CLEARANCE_MM:g} mm"
        yield at, f"{what} of a bed at z = 0", f"Give at most {most_mm:g}, or hang it lower."
    if level.press_mm > tip.travel_mm / 2:
        what = f"level.press_mm: is over half of the plunger's travel, {tip.travel_mm:g} mm"
        yield at, what, f"Give at most {tip.travel_mm / 2:g}."


def _has_room(grid: Grid, machine: Machine, gauge_kind: str) -> bool:
    points = list(grid_points(grid, machine, gauge_kind))
    return points[0].x_mm < points[-1].x_mm and points[0].y_mm < points[-1].y_mm


def _places(of: Sequence[Point | BedScrew]) -> list[tuple[float, float]]:
    return [(one.x_mm, one.y_mm) for one in of]


def _hold_a_plane(places: Sequence[tuple[float, float]]) -> bool:
    """Whether there are three, and not all on one line."""
    if len(places) < FEWEST:
        return False
    (x, y), *others = places
    arms = [(other_x - x, other_y - y) for other_x, other_y in others]
    return any(abs(ax * by - ay * bx) > 1.0 for ax, ay in arms for bx, by in arms)  # mm²


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
