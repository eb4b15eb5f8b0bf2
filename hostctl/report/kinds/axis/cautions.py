"""What to know before an axis test is believed."""

from collections.abc import Iterator

from hostctl.metrology.geometry.axis import STANDARD_RUNS
from hostctl.report.document.significant import significant, stated_mm
from hostctl.report.kinds.axis.result import AxisResult, FarFound
from hostctl.report.kinds.axis.words import length, plain, signed

_STANDARD_TARGETS = 5
_MOST_FAR = 6
_SMALL_P = 0.001

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
    yield from _odd(result)
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


def _odd(result: AxisResult) -> Iterator[str]:
    """What the positions themselves show."""
    for one in result.far[:_MOST_FAR]:
        yield _far(result, one)
    if len(result.far) > _MOST_FAR:
        yield f"{len(result.far) - _MOST_FAR} more positions lie as far from the others."
    if result.moved_less_mm is not None:
        yield _may_hang_free(result, result.moved_less_mm)
    if result.together is not None:
        found = result.together
        p = "p below 0.001" if found.p < _SMALL_P else f"p = {found.p:.3f}"
        yield (
            "Positions of one pass over the targets move together (F test of passes against the "
            f"rest, {p}): a pass as a whole scatters by {significant(found.spread_mm)} mm, a "
            f"position beside that by {significant(found.rest_mm)} mm. So scatter at each target "
            "is that of the pass: targets do not confirm each other, and intervals that pool them "
            "are too narrow."
        )


def _far(result: AxisResult, one: FarFound) -> str:
    return (
        f"Run {one.run} at {plain(one.target_mm)} mm from {one.coming_from} lies "
        f"{signed(result, one.off_mm)} mm from the others there, beyond 5 times the spread "
        f"({significant(one.spread_mm)} mm, by the median of all targets) and 5 steps of the "
        "reading. Was it typed or read wrongly? Nothing is left out: all figures have it in them."
    )


def _may_hang_free(result: AxisResult, less_mm: float) -> str:
    last = plain(result.targets[-1].target_mm)
    why = (
        f"the number went {length(result, less_mm)} mm less than the axis was sent"
        if less_mm
        else "all readings are alike there, and at no other target"
    )
    return (
        f"At {last} mm the plunger may have hung free: {why}. What is said of that target is then "
        "not of the axis. Test again with lower targets, or a reading height at which the plunger "
        "is pressed in more."
    )


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
