"""What to know before an axis test is believed."""

from collections.abc import Iterator

from hostctl.metrology.geometry.axis import STANDARD_RUNS
from hostctl.report.document.significant import significant, stated_mm
from hostctl.report.kinds.axis.result import AxisResult

_STANDARD_TARGETS = 5

_HYSTERESIS = (
    "Reversal includes the indicator's own hysteresis: its plunger, too, shows a little otherwise "
    "going in than coming out. To tell them apart, test the indicator alone, or with one that has "
    "less."
)
_HYSTERESIS_OF_A_TABLE = (
    "Reversal includes the hysteresis of whatever measured it: a plunger shows a little otherwise "
    "going in than coming out."
)
_RELATIVE = (
    "The indicator's zero means nothing, so deviations are told from the mean at the first target: "
    "this says how far the axis goes from one target to the next, not where it stands. Reversal "
    "and repeatability are the same either way."
)
_NOT_CALIBRATED = (
    "E, M and A are not said: the indicator is not calibrated, so its own error can't be told from "
    "that of the axis. With a certificate give its standard uncertainty (calibrated_u_mm)."
)
_FRAME = (
    "What the indicator sees is the axis together with the head, the mount and the bed below the "
    "plunger, and the plunger's own push on them."
)
_OVER = "All this is of the heights that were tested; beyond them the axis may do otherwise."


def cautions(result: AxisResult) -> Iterator[str]:
    """Each a sentence or two."""
    yield from result.notes
    if result.left_out:
        runs = "1 run" if result.left_out == 1 else f"{result.left_out} runs"
        yield f"{runs} left out, in which a target is missing."
    if result.runs < STANDARD_RUNS:
        yield f"{result.runs} runs; the standard asks for {STANDARD_RUNS} from each side."
    if len(result.targets) < _STANDARD_TARGETS:
        yield f"{len(result.targets)} targets; the standard asks for {_STANDARD_TARGETS} at least."
    if result.reversal is not None:
        yield _HYSTERESIS if result.machine is not None else _HYSTERESIS_OF_A_TABLE
    if result.relative:
        yield _RELATIVE
    yield from _of_accuracy(result)
    if result.machine is not None:
        yield _FRAME
    yield _OVER


def _of_accuracy(result: AxisResult) -> Iterator[str]:
    if result.accuracy is None:
        yield _NOT_CALIBRATED
        return
    u_mm = result.accuracy.u_mm
    yield (
        f"E, M and A rest on the indicator, whose standard uncertainty is {stated_mm(u_mm)} mm: a "
        f"difference of two readings is doubtful by {significant(2 * 2**0.5 * u_mm)} mm (k = 2) "
        "from that alone."
    )
