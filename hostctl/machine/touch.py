"""One touch of the bed with the probe, as the controller told of it."""

from dataclasses import dataclass

from hostctl.config.machine import Machine, Probe
from hostctl.errors import MachineError
from hostctl.link.reply import Reply
from hostctl.machine.dialects.dialect import Dialect

TOUCHING = {"takes_s": 30.0, "usual_s": 6.0}
"""How long one may take, and does."""

REPORT_LOST = "its report was lost on the way"


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """`height_mm`: None where there was none; `said`: why, in the controller's words or ours."""

    x_mm: float
    y_mm: float
    height_mm: float | None
    said: str

    @property
    def failed(self) -> bool:
        """Whether the probe itself failed, rather than the line to it."""
        return self.height_mm is None and self.said != REPORT_LOST


def probe_in(file: Machine) -> Probe:
    """The probe of the machine file. Raises MachineError where it has none."""
    if file.probe is None:
        raise MachineError(
            f"machine '{file.machine}'", "it has no probe", "Add 'probe:' to its file."
        )
    return file.probe


def touch_of(reply: Reply, dialect: Dialect, x_mm: float, y_mm: float) -> Touch:
    """What came of a touch that was ordered at this place."""
    height_mm = None if reply.errors else dialect.probe_height_mm(reply)
    said = "; ".join(error.text for error in reply.errors) or REPORT_LOST
    return Touch(x_mm=x_mm, y_mm=y_mm, height_mm=height_mm, said=said)


def no_touch(where: str, last: Touch, times: int) -> MachineError:
    """After so many touches without a height."""
    return MachineError(
        where,
        f"{times} touches at x {last.x_mm:g}, y {last.y_mm:g} mm gave no height: {last.said}",
        "See that the probe is clean and moves freely; the touch is then done again.",
    )


def check_not_too_deep(where: str, touch: Touch, deepest_z_mm: float) -> None:
    """Raises MachineError when it was deeper than the machine file allows."""
    if touch.height_mm is not None and not touch.height_mm >= deepest_z_mm:
        raise MachineError(
            where,
            f"the probe gave {touch.height_mm:g} mm at x {touch.x_mm:g}, y {touch.y_mm:g} mm, "
            "deeper than allowed",
            "See that the probe moves freely and that its file is right; it homes again first.",
        )
