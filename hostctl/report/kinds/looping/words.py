"""Figures and short phrases of a loop, the same wherever they are said."""

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import MINUS, Lengths
from hostctl.report.kinds.looping.result import LoopResult, ScatterFound, SpreadFound

_MINUTE_S, _HOUR_S = 60.0, 3600.0


def lengths(result: LoopResult) -> Lengths:
    """As the probe's resolution asks."""
    return Lengths.read_to(result.resolution_mm)


def time_words(seconds: float) -> str:
    """`48 s`, `14 min`, `3.2 h`."""
    if seconds < 2 * _MINUTE_S:
        return f"{seconds:.0f} s"
    if seconds < 2 * _HOUR_S:
        return f"{seconds / _MINUTE_S:.0f} min"
    return f"{seconds / _HOUR_S:.1f} h"


def touches_words(number: int) -> str:
    """`1 touch`, `10,000 touches`."""
    return f"{number:,} touch" if number == 1 else f"{number:,} touches"


def spread_words(spread: SpreadFound, mm: Lengths) -> str:
    """`s = 0.0031 mm (95 %: 0.0029 to 0.0033)`, `s below 0.0007 mm (95 %)`."""
    if isinstance(spread.value, Estimate):
        return f"s = {mm.mm(spread.value.value)} mm (95 %: {mm.span(spread.interval)})"
    return f"s below {mm.mm(spread.interval.high)} mm (95 %)"


def signed_words(found: Estimate, mm: Lengths) -> str:
    """`+0.0123 mm (95 %: +0.0102 to +0.0144)`."""
    low, high = mm.signed(found.low), mm.signed(found.high)
    return f"{mm.signed(found.value)} mm (95 %: {low} to {high})"


def spread_cells(found: ScatterFound, mm: Lengths) -> tuple[str, str]:
    """A spread and its interval, or bound, in a table; empty where nothing is known."""
    if isinstance(found.value, Estimate):
        return mm.mm(found.value.value), mm.range(found.value.interval)
    return "", "" if found.high is None else f"below {mm.mm(found.high)}"


def signed_cells(found: Estimate | NotYet, mm: Lengths) -> tuple[str, str]:
    """The same of a length with a sign."""
    if isinstance(found, NotYet):
        return "", ""
    return mm.signed(found.value), f"{mm.signed(found.low)} to {mm.signed(found.high)}"


def order_words(shows: Reason, mm: Lengths) -> str:
    """What the order of touches shows."""
    moved, touches = shows.numbers.get("moved"), shows.numbers["touches"]
    if isinstance(moved, float):
        return (
            f"their level changes, over {touches:,} of them by some {mm.signed(moved)} mm as a "
            "straight line has it"
        )
    return reason_words(shows)


def share_words(share: float) -> str:
    """`0.6 %`, `0.03 %`."""
    return f"{100 * share:.2g} %"


def correlation_words(found: float) -> str:
    """`+0.92`, `−0.92`."""
    return f"{found:+.2f}".replace("-", MINUS)
