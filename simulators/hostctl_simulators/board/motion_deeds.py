"""The codes that move: G0, G1, G4, G28, G30."""

from dataclasses import replace

from hostctl_simulators.board.board_states import AT_REST, ROOM, Deed
from hostctl_simulators.board.firmware import Firmware
from hostctl_simulators.board.received_line import Command
from hostctl_simulators.physical.spot import Spot

HOME_LIFT_MM = 10.0
HOME_XY_MM_S = 40.0
HOME_Z_MM_S = 4.0
HOME_SLOW_MM_S = 1.5
BACK_OFF_MM = 3.0
NO_TRIGGER_Z_MM = 0.5  # the board lets a probe that does not trigger down no further, nozzle height
PROBE_FLOOR_MM = -2.0  # at this height of the bed the probe gives up


def go(board: Firmware, command: Command) -> Deed:
    """G0, G1: a straight move; done when it is queued.

    Outside the travel it is cut short or refused, as the dialect has it. An unhomed `classic`
    board moves without knowing where it is.
    """
    words, carriage = command.words(), board.carriage
    if (feed := words.get("F")) is not None and feed > 0:
        carriage.feed_mm_s = feed * carriage.mm_per_unit / 60
    yield ROOM
    at = carriage.position
    asked = Spot(
        x_mm=_coordinate(carriage.mm_of(words.get("X")), at.x_mm, carriage.absolute),
        y_mm=_coordinate(carriage.mm_of(words.get("Y")), at.y_mm, carriage.absolute),
        z_mm=_coordinate(carriage.mm_of(words.get("Z")), at.z_mm, carriage.absolute),
    )
    to = carriage.within_travel(asked) if carriage.homed else asked
    if asked == at:
        return
    if board.wording.refuses_outside and not (carriage.homed and to == asked):
        why = "that lies outside the travel" if carriage.homed else "the axes are not homed"
        board.say(board.wording.error(f"no move: {why}"))
        return
    carriage.go(to, carriage.speed_mm_s(to, carriage.feed_mm_s), command)


def _coordinate(asked: float | None, at_mm: float, absolute: bool) -> float:
    if asked is None:
        return at_mm
    return asked if absolute else at_mm + asked


def dwell(board: Firmware, command: Command) -> Deed:
    """G4: wait for the moves, then so long (S seconds, P milliseconds)."""
    yield AT_REST
    seconds = command.number_of("S")
    yield seconds if seconds is not None else (command.number_of("P") or 0.0) / 1000


def home(board: Firmware, command: Command) -> Deed:
    """G28: lift, run x and y against their ends, then z against its end or the probe's touch.

    Always all axes. Each end is touched fast, left again, and touched slowly.
    """
    yield AT_REST
    board.carriage.homed = False
    board.world.homing_begins()
    head = board.world.head
    kind = board.world.kind
    highest_mm, end_x_mm, end_y_mm = kind.size_z_mm, kind.from_x_mm, kind.from_y_mm
    lifted = replace(head, z_mm=min(head.z_mm + HOME_LIFT_MM, highest_mm))
    yield from _run(board, command, lifted, HOME_Z_MM_S)
    yield from _touch_end(board, command, replace(lifted, x_mm=end_x_mm), HOME_XY_MM_S, "x_mm")
    at_x = replace(lifted, x_mm=end_x_mm)
    yield from _touch_end(board, command, replace(at_x, y_mm=end_y_mm), HOME_XY_MM_S, "y_mm")
    if kind.probe is None:
        bottom = Spot(x_mm=end_x_mm, y_mm=end_y_mm, z_mm=board.world.home_error_mm())
        yield from _touch_end(board, command, bottom, HOME_Z_MM_S, "z_mm")
        board.carriage.call_it(replace(bottom, z_mm=0.0))
        board.carriage.homed = True
    else:
        yield from _home_by_probe(board, command)


def _home_by_probe(board: Firmware, command: Command) -> Deed:
    """Touch the middle of the bed: there z is 0. The head is left lifted above it.

    The board puts the probe out for it, and in again if it was in.
    """
    kind, carriage, arm = board.world.kind, board.carriage, board.world.probe
    x_mm, y_mm = (kind.from_x_mm + kind.to_x_mm) / 2, (kind.from_y_mm + kind.to_y_mm) / 2
    was_out, arm.out = arm.out, True
    if arm.triggered or arm.blind:
        board.say(board.wording.error("no homing: the probe does not answer as it should"))
        return
    yield from _touch_bed(board, command, x_mm, y_mm)
    arm.out = was_out
    head = board.world.head
    carriage.call_it(replace(head, z_mm=_reach_mm(board)))
    lifted = replace(head, z_mm=head.z_mm + HOME_LIFT_MM)
    yield from _run(board, command, lifted, HOME_Z_MM_S)
    carriage.homed = True


def probe(board: Firmware, command: Command) -> Deed:
    """G30 X Y: put the probe over that place at the present height, touch once, come back up."""
    carriage, words = board.carriage, command.words()
    if board.world.kind.probe is None:
        board.say(board.wording.error("no probe is fitted"))
        return
    yield AT_REST
    if not carriage.homed:
        board.say(board.wording.error("no probing: the axes are not homed"))
        return
    if board.world.touch_fails() or board.world.probe.triggered:
        board.say(board.wording.error("no touch: the probe was triggered before it moved"))
        return
    kind, at = board.world.kind.probe, carriage.position
    x_mm = _asked_or(carriage.mm_of(words.get("X")), at.x_mm + kind.offset_x_mm)
    y_mm = _asked_or(carriage.mm_of(words.get("Y")), at.y_mm + kind.offset_y_mm)
    up_mm = board.world.head.z_mm
    if board.world.probe.blind:
        yield from _feel_nothing(board, command, x_mm, y_mm)
        return
    yield from _touch_bed(board, command, x_mm, y_mm)
    touched_mm = carriage.position.z_mm - _reach_mm(board)
    if touched_mm < PROBE_FLOOR_MM:
        board.say(board.wording.error("no touch: the bed is out of the probe's reach"))
    else:
        steps_per_mm = board.world.kind.steps_per_mm[2]
        counted_mm = round(touched_mm * steps_per_mm) / steps_per_mm
        board.say(board.wording.probed(x_mm, y_mm, counted_mm))
    yield from _run(board, command, replace(board.world.head, z_mm=up_mm), HOME_Z_MM_S)


def _feel_nothing(board: Firmware, command: Command, x_mm: float, y_mm: float) -> Deed:
    """Down as far as the board lets it, and up again."""
    kind, world = board.world.kind.probe, board.world
    assert kind is not None
    world.probe.touches += 1
    up = replace(world.head, x_mm=x_mm - kind.offset_x_mm, y_mm=y_mm - kind.offset_y_mm)
    yield from _run(board, command, up, HOME_XY_MM_S)
    down = replace(up, z_mm=board.carriage.origin.z_mm + NO_TRIGGER_Z_MM)
    yield from _run(board, command, down, kind.speed_mm_s)
    board.say(board.wording.error("no touch: the probe did not trigger"))
    yield from _run(board, command, up, HOME_Z_MM_S)


def _asked_or(asked_mm: float | None, otherwise_mm: float) -> float:
    return otherwise_mm if asked_mm is None else asked_mm


def _reach_mm(board: Firmware) -> float:
    kind = board.world.kind.probe
    return kind.reaches_mm if kind else 0.0


def _touch_bed(board: Firmware, command: Command, x_mm: float, y_mm: float) -> Deed:
    """Probe over a place of the bed (the frame's x and y), down until it triggers."""
    kind = board.world.kind.probe
    assert kind is not None
    over = replace(board.world.head, x_mm=x_mm - kind.offset_x_mm, y_mm=y_mm - kind.offset_y_mm)
    yield from _run(board, command, over, HOME_XY_MM_S)
    felt_mm = board.world.touch(x_mm, y_mm)
    yield from _run(board, command, replace(over, z_mm=felt_mm + kind.reaches_mm), kind.speed_mm_s)


def _touch_end(board: Firmware, command: Command, end: Spot, speed_mm_s: float, axis: str) -> Deed:
    """Run to an end fast, back off, and come again slowly."""
    yield from _run(board, command, end, speed_mm_s)
    backed = replace(end, **{axis: getattr(end, axis) + BACK_OFF_MM})
    yield from _run(board, command, backed, speed_mm_s)
    yield from _run(board, command, end, HOME_SLOW_MM_S)


def _run(board: Firmware, command: Command, to: Spot, speed_mm_s: float) -> Deed:
    """Move to a place in the frame and wait until there."""
    origin = board.carriage.origin
    board.carriage.go(
        Spot(x_mm=to.x_mm - origin.x_mm, y_mm=to.y_mm - origin.y_mm, z_mm=to.z_mm - origin.z_mm),
        speed_mm_s,
        command,
    )
    yield AT_REST
