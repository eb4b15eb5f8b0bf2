"""Z sent to a height from one side, with the plunger on the bed all the while."""

from hostctl.config.machine import Point
from hostctl.gauges.gauge import Gauge
from hostctl.machine.machine import Machine
from hostctl.records import Position
from hostctl.run.procedures.motions import StepAndRead


async def stepped_to(
    deed: StepAndRead, point: Point, machine: Machine, gauge: Gauge, settle_s: float
) -> Position:
    """Where the head must be when the gauge is read.

    It steps on from the height before; where the head was lifted meanwhile, the gauge is brought
    down anew. Raises MachineError, LinkError or PortError.
    """
    indicator = machine.config.indicator
    assert indicator is not None  # a study with other gauges is refused
    expected = Position(
        x_mm=point.x_mm - indicator.offset_x_mm,
        y_mm=point.y_mm - indicator.offset_y_mm,
        z_mm=indicator.reading_z_mm + deed.above_mm,
    )
    if not _is_over(await machine.where(), expected, machine):
        await gauge.bring(point, deed.above_mm + deed.overrun_mm)
    await machine.step_to(expected.z_mm, coming_from=deed.coming_from, overrun_mm=deed.overrun_mm)
    await machine.settle(settle_s)
    return await machine.check_at(expected)


def _is_over(at: Position, expected: Position, machine: Machine) -> bool:
    near_mm = machine.config.position_tolerance_mm
    beside_mm = max(abs(at.x_mm - expected.x_mm), abs(at.y_mm - expected.y_mm))
    return beside_mm <= near_mm and at.z_mm < machine.envelope.clear_z_mm - near_mm
