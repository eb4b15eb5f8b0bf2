"""What a look at a loop found, and a touch beyond its limits: as decisions, in words and data."""

from typing import TYPE_CHECKING

from hostctl.run.procedures.looping.verdicts import GOES_ON, HELD, KNOWN, looked
from hostctl.run.procedures.procedure import Decision, Json, Kept

if TYPE_CHECKING:
    from hostctl.metrology.basis.estimate import Estimate
    from hostctl.metrology.basis.reason import Reason
    from hostctl.metrology.looping.control_limit import LimitCheck
    from hostctl.metrology.looping.known_spread import KnownSpread, SpreadLook

DIGITS = 6
"""Of what is kept: a nanometre."""


def beyond(kept: Kept, check: "LimitCheck", *, touches: int, breaks: int) -> Decision:
    """That the run is to be held for a touch out of what went before."""
    place = kept.place
    what = (
        f"Touch {place.trial} at {place.point} gave {check.value:.4f} mm, beyond the limits "
        f"{check.lower:.4f} to {check.upper:.4f} mm that the touches before it set (one loop in a "
        "hundred is held so by chance). See to the machine and its probe."
    )
    found: dict[str, Json] = {
        "value_mm": round(check.value, DIGITS),
        "centre_mm": round(check.centre, DIGITS),
        "lower_mm": round(check.lower, DIGITS),
        "upper_mm": round(check.upper, DIGITS),
        "moved": check.moved,
        "breaks": breaks,
    }
    return looked(what, HELD, touches, **_where(kept), **found)


def looked_at(
    kept: Kept,
    look: "SpreadLook",
    known: "KnownSpread",
    *,
    side: str | None,
    touches: int,
    levels: int,
) -> Decision:
    """What a look found, and whether this point is done with by it."""
    from hostctl.metrology.basis.estimate import NotYet

    number, looks = known.looks.index(look.touches) + 1, len(known.looks)
    goes_on = "it goes on" if number < looks else "it was the last"
    from_side = f" from the {side}" if side else ""
    begins = f"Look {number} of {looks}, {look.touches} touches at {kept.place.point}{from_side}"
    found: dict[str, Json] = {
        "side": side,
        "look": number,
        "looks": looks,
        "levels": levels,
        "n": look.touches,
        "known_to": known.known_to,
        "half_width": None if look.half_width is None else round(look.half_width, 4),
    }
    if isinstance(look.spread, NotYet):
        why, numbers = _refused(look.spread.reason)
        what = f"{begins}: {why}, so {goes_on}."
        return looked(what, GOES_ON, touches, **_where(kept), **found, **numbers)
    verdict = KNOWN if look.stop else GOES_ON
    what = f"{begins}: {_spread(look.spread, look.half_width or 0.0, known.known_to, goes_on)}"
    numbers = _numbers(look.spread)
    return looked(what, verdict, touches, **_where(kept), **found, **numbers)


def _where(kept: Kept) -> dict[str, Json]:
    place = kept.place
    return {"block": place.block, "point": place.point, "trial": place.trial}


def _spread(spread: "Estimate", half_width: float, known_to: float, goes_on: str) -> str:
    is_known = half_width <= known_to
    goes = "known well enough" if is_known else goes_on
    return (
        f"a touch scatters by {spread.value:.4f} mm, {spread.low:.4f} to {spread.high:.4f} mm; "
        f"known within {half_width:.1%}, {known_to:.0%} is wanted: {goes}."
    )


def _numbers(spread: "Estimate") -> dict[str, Json]:
    return {
        "s_mm": round(spread.value, DIGITS),
        "low_mm": round(spread.low, DIGITS),
        "high_mm": round(spread.high, DIGITS),
    }


def _refused(reason: "Reason") -> tuple[str, dict[str, Json]]:
    """Why nothing is stated: in words, and the number behind it."""
    from hostctl.metrology.basis.reason import Why

    numbers = reason.numbers
    if reason.code == Why.LOOP_DRIFTS:
        moved_mm = _number(numbers["moved"])
        return f"drift shows ({moved_mm:+.4f} mm by now)", {"drift_mm": round(moved_mm, DIGITS)}
    if reason.code == Why.NEIGHBOURS_ALIKE:
        likeness = _number(numbers["likeness"])
        return f"neighbours are alike ({likeness:+.2f})", {"likeness": round(likeness, 4)}
    return "the spread can't be told yet", {"refused": str(reason.code)}


def _number(given: object) -> float:
    assert isinstance(given, float | int)  # the two reasons have no other
    return float(given)
