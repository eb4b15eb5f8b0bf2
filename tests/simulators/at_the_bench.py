"""Touches and readings at a simulated bench, by hand: what a run would do, without its rules."""

from dataclasses import dataclass

from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.world import World

CLEAR_Z_MM, SET_Z_MM, READING_Z_MM = 15.0, 0.0, 5.0
POINT = (30.0, 30.0)


def go(world: World, x_mm: float, y_mm: float, z_mm: float) -> None:
    """Up, across, and straight down."""
    world.move_head(Spot(x_mm=world.head.x_mm, y_mm=world.head.y_mm, z_mm=CLEAR_Z_MM))
    world.move_head(Spot(x_mm=x_mm, y_mm=y_mm, z_mm=CLEAR_Z_MM))
    world.move_head(Spot(x_mm=x_mm, y_mm=y_mm, z_mm=z_mm))


def lay_plate(world: World, thick_mm: float, point: tuple[float, float] = POINT) -> None:
    """Under the nozzle, high above it."""
    go(world, *point, CLEAR_Z_MM)
    world.lay_under_nozzle(thick_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """The last height of the nozzle without contact, and the first with it."""

    open_z_mm: float
    closed_z_mm: float


def step_down(
    world: World, *, from_z_mm: float, step_mm: float, floor_z_mm: float = -1.0
) -> Touch | None:
    """Down from there until there is contact; None: there was none down to the floor."""
    x_mm, y_mm = world.head.x_mm, world.head.y_mm
    world.move_head(Spot(x_mm=x_mm, y_mm=y_mm, z_mm=from_z_mm))
    while not world.contact_closed():
        if world.head.z_mm - step_mm < floor_z_mm:
            return None
        lower = Spot(x_mm=x_mm, y_mm=y_mm, z_mm=round(world.head.z_mm - step_mm, 6))
        world.move_head(lower)
    closed_z_mm = world.head.z_mm
    return Touch(open_z_mm=closed_z_mm + step_mm, closed_z_mm=closed_z_mm)


def shown_pressed_mm(world: World, point: tuple[float, float] = POINT) -> float:
    """The plunger over the point: what it shows pressed in, unrounded."""
    assert world.indicator is not None
    kind = world.indicator.kind
    go(world, point[0] - kind.offset_x_mm, point[1] - kind.offset_y_mm, READING_Z_MM)
    return world.indicator.sign * world.indicator.shown_mm


def tie_mm(world: World, *, step_mm: float = 0.002) -> float:
    """One tie by touch at the point: its constant, the middle of what it may be. Its steps begin
    close above the plate, since many are made."""
    go(world, *POINT, CLEAR_Z_MM)
    near_mm = round(CLEAR_Z_MM - world.gap_mm() + 0.01, 3)
    touch = step_down(world, from_z_mm=near_mm, step_mm=step_mm)
    assert touch is not None
    shown_mm = shown_pressed_mm(world)
    return SET_Z_MM + shown_mm - (touch.open_z_mm + touch.closed_z_mm) / 2
