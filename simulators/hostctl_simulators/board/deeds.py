"""What each code does, but for motion. A deed yields what it waits for; its `ok` follows its end.

The sources of the codes: ISO 6983 / RS-274 for G0, G1, G4, G28, G90 and G92; the openly published
page on G-code for the rest. The words in the answers are our own.
"""

from collections.abc import Callable

from hostctl_simulators.bed.heater import Heater
from hostctl_simulators.board.board_states import AT_REST, Deed, State
from hostctl_simulators.board.firmware import Firmware
from hostctl_simulators.board.motion_deeds import dwell, go, home, probe
from hostctl_simulators.board.received_line import Command
from hostctl_simulators.physical.spot import Spot

HEAT_LOOK_S = 1.0  # while a command waits for heat, the temperatures are said so often

ARM_S = 0.5  # an arm takes so long

DONE_THOUGH_STOPPED = ("M104", "M105", "M110", "M112", "M114", "M115", "M140", "M999")

Act = Callable[[Firmware, Command], Deed]


def deed_of(board: Firmware, command: Command) -> Deed:
    """The deed for `command`; an unknown code does nothing and says so.

    A board that stopped itself tells and cools; all else it merely acknowledges.
    """
    if board.wording.thinks_s:
        yield board.wording.thinks_s
    if board.state is not State.STOPPED or command.code in DONE_THOUGH_STOPPED:
        yield from DEEDS.get(command.code, _not_understood)(board, command)


def _not_understood(board: Firmware, command: Command) -> Deed:
    board.say(board.wording.info(f"not understood: {command.text[:40]!a}"))
    yield from ()


def _nothing(board: Firmware, command: Command) -> Deed:
    yield from ()


def _absolute(board: Firmware, command: Command) -> Deed:
    board.carriage.absolute = command.code == "G90"
    yield from ()


def _unit(board: Firmware, command: Command) -> Deed:
    """G20, G21: lengths and feeds are in inches or mm from now on. Reports stay in mm."""
    board.carriage.mm_per_unit = 25.4 if command.code == "G20" else 1.0
    yield from ()


def _call_position(board: Firmware, command: Command) -> Deed:
    yield AT_REST
    at, mm_of = board.carriage.position, board.carriage.mm_of
    x, y, z = (mm_of(command.number_of(axis)) for axis in "XYZ")
    board.carriage.call_it(
        Spot(
            x_mm=at.x_mm if x is None else x,
            y_mm=at.y_mm if y is None else y,
            z_mm=at.z_mm if z is None else z,
        )
    )


def _release_motors(board: Firmware, command: Command) -> Deed:
    """M18, M84: let the motors go; with S, only say after how long at rest they are let go."""
    after_s = command.number_of("S")
    if after_s is not None:
        board.carriage.idle_off_s = after_s
        return
    yield AT_REST
    board.carriage.release()


def _wait_for_moves(board: Firmware, command: Command) -> Deed:
    yield AT_REST


def _halt(board: Firmware, command: Command) -> Deed:
    board.halt()  # reached only when its bytes were not recognised as they came in
    yield from ()


def _go_on_after_stop(board: Firmware, command: Command) -> Deed:
    """M999: what a board that stopped itself waits for."""
    board.go_on_after_stop()
    yield from ()


def _quick_stop(board: Firmware, command: Command) -> Deed:
    board.carriage.stop()
    yield from ()


# ------------------------------------------------------------------ heat


def _heater(board: Firmware, command: Command) -> Heater:
    world = board.world
    return world.bed_heater if command.code in ("M140", "M190") else world.nozzle_heater


def _set_heat(board: Firmware, command: Command) -> Deed:
    """M104, M140: set the target and go on."""
    board.world.warm()
    heater = _heater(board, command)
    asked_c = command.number_of("S") or 0.0
    if asked_c > heater.kind.hottest_c:
        board.say(board.wording.error(f"target refused: at most {heater.kind.hottest_c:.0f}"))
    else:
        heater.target_c = max(asked_c, 0.0)
    yield from ()


def _wait_for_heat(board: Firmware, command: Command) -> Deed:
    """M109, M190: set the target and wait until it is reached, telling the temperatures."""
    yield from _set_heat(board, command)
    heater = _heater(board, command)
    while not heater.reached:
        yield HEAT_LOOK_S
        board.say(board.temperatures())


def _tell_temperatures(board: Firmware, command: Command) -> Deed:
    if board.wording.reports_on_ok:
        board.ok_text = board.temperatures()
    else:
        board.say(board.temperatures())
    yield from ()


def _report_temperatures(board: Firmware, command: Command) -> Deed:
    board.reports.every(command.number_of("S") or 0.0)
    yield from ()


def _fan(board: Firmware, command: Command) -> Deed:
    asked, fan = command.number_of("S"), int(command.number_of("P") or 0)
    to = 0 if command.code == "M107" else 255 if asked is None else int(asked)
    board.outputs[f"fan {fan}"] = to
    yield from ()


def _set_pin(board: Firmware, command: Command) -> Deed:
    """M42: set a pin at once; nothing here hangs on one."""
    board.outputs[f"pin {command.number_of('P') or 0:g}"] = int(command.number_of("S") or 0)
    yield from ()


def _point_arm(board: Firmware, command: Command) -> Deed:
    """M280: turn the small motor's arm that puts the probe out or in; done after half a second."""
    angle_deg = command.number_of("S")
    if board.world.kind.probe is None or angle_deg is None:
        board.say(board.wording.error("no arm there"))
        return
    yield ARM_S
    board.world.probe.point_arm(angle_deg)


# ------------------------------------------------------------------ telling


def _tell_position(board: Firmware, command: Command) -> Deed:
    board.say(board.wording.position(board.carriage.position, board.carriage.steps()))
    yield from ()


def _tell_firmware(board: Firmware, command: Command) -> Deed:
    for line in board.wording.firmware(board.world.kind.name):
        board.say(line)
    yield from ()


def _tell_ends(board: Firmware, command: Command) -> Deed:
    at, homed = board.carriage.position, board.carriage.homed
    for axis, place_mm in (("x", at.x_mm), ("y", at.y_mm), ("z", at.z_mm)):
        board.say(f"end {axis}: {'closed' if homed and place_mm <= 0 else 'open'}")
    world = board.world
    inputs = {"contact": world.contact_closed(), "door": not world.door_open}
    if world.kind.probe is not None:
        inputs |= {"probe": world.probe.triggered, "probe-out": world.probe.out}
    for name, triggered in inputs.items():
        board.say(board.wording.input(name, triggered))
    yield from ()


def _tell_card(board: Firmware, command: Command) -> Deed:
    """M27: how far the job from the card has come."""
    if board.card_bytes is None:
        board.say("Not SD printing")
    else:
        board.say("SD printing byte {}/{}".format(*board.card_bytes))
    yield from ()


def _message(board: Firmware, command: Command) -> Deed:
    board.messages.append(command.text.partition(" ")[2])
    yield from ()


def _beep(board: Firmware, command: Command) -> Deed:
    board.beeps += 1
    yield from ()


DEEDS: dict[str, Act] = {
    "G0": go,
    "G1": go,
    "G4": dwell,
    "G20": _unit,
    "G21": _unit,
    "G28": home,
    "G30": probe,
    "G90": _absolute,
    "G91": _absolute,
    "G92": _call_position,
    "M17": _nothing,
    "M18": _release_motors,
    "M27": _tell_card,
    "M42": _set_pin,
    "M84": _release_motors,
    "M104": _set_heat,
    "M105": _tell_temperatures,
    "M106": _fan,
    "M107": _fan,
    "M109": _wait_for_heat,
    "M110": _nothing,  # the number was set when the line was taken
    "M112": _halt,
    "M114": _tell_position,
    "M115": _tell_firmware,
    "M117": _message,
    "M119": _tell_ends,
    "M140": _set_heat,
    "M155": _report_temperatures,
    "M190": _wait_for_heat,
    "M280": _point_arm,
    "M300": _beep,
    "M400": _wait_for_moves,
    "M410": _quick_stop,
    "M999": _go_on_after_stop,
}
