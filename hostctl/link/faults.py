"""A fault of the line, in words a user can act on."""

from hostctl.errors import LinkError, ThermalFault
from hostctl.protocol.states import Cause, Fault

_LOOK = (
    "Switch the machine off at the mains and keep hands out of it: its parts may be burning hot, "
    "and it must not be left alone. Find what failed (heater, sensor, their wires) by the maker's "
    "manual before it is switched on again."
)
_NEXT_STEP = {
    Cause.RESET: "Its position is lost: see that nothing is in the way.",
    Cause.HALTED: "Reset the board, or switch it off and on, unless it comes back by itself.",
    Cause.STOPPED: "Reset the board, or switch it off and on, unless it comes back by itself.",
    Cause.THERMAL: _LOOK,
    Cause.SILENT: "See that the machine is on and its cable is firm.",
    Cause.OUT_OF_STEP: "Reset the board, and see that no other program uses the port.",
    Cause.NOISY: "Use a shorter, shielded cable away from motors.",
    Cause.REPEATING: (
        "The cable is not at fault: see that no other program uses the port, then reset the board."
    ),
    Cause.GONE: "Plug it in again.",
}


def link_error(url: str, fault: Fault, doing: str = "", *, was_up: bool = False) -> LinkError:
    """The error for `fault` on the port `url`; `doing`: the command that was out, if one was.

    was_up: it was talked with. One that stops itself then, and does not say why, is taken to have
    had a thermal fault: its words may have been lost or be unknown to us.
    """
    if fault.cause is Cause.THERMAL:
        return thermal_fault(url, f"a thermal fault: {fault.text}")
    if fault.cause is Cause.STOPPED and was_up:
        return thermal_fault(url, f"the board has stopped itself: {fault.text}")
    during = f" (during '{doing}')" if doing else ""
    return LinkError(url, f"{fault.text}{during}", _NEXT_STEP[fault.cause])


def thermal_fault(where: str, what: str) -> ThermalFault:
    """A thermal fault as it was told or kept, with its cautions."""
    taken_for_one = "" if "thermal" in what else "Take it for a thermal fault. "
    return ThermalFault(where, what, f"{taken_for_one}{_LOOK}")


def greeting_error(url: str, baud: int, bytes_heard: int, understood: bool) -> LinkError:
    """Why a controller could not be greeted: silence, a wrong baud rate, or neither."""
    if not bytes_heard:
        return LinkError(url, "nothing answers", "See that the machine is on and connected.")
    if not understood:
        what = f"{bytes_heard} bytes came but no line could be read at {baud} baud"
        return LinkError(url, what, "Give the baud rate that the maker's manual names.")
    return LinkError(url, "the machine talks but does not answer", "Reset the board and try again.")
