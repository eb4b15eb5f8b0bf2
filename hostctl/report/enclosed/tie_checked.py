"""What a report says of ties, looked at key by key: it may be a stranger's."""

from typing import Any

from hostctl.report.enclosed.parts import Part, Unfit
from hostctl.store.rows import PLUNGER_SIGN, TIE_CHECKED, TIE_CONTACT

_SPOT = ("block", "round", "trial", "attempt")
_HEIGHTS = ("open_z_mm", "closed_z_mm", "plunger_z_mm", "set_z_mm", "reading_z_mm")
_BETWEEN = ("between_low_mm", "between_high_mm")


def check_event(kind: str, data: Any, at: str) -> None:
    """Raises Unfit where what an event says of a tie is not as it should be."""
    if kind not in (TIE_CONTACT, PLUNGER_SIGN, TIE_CHECKED):
        return
    if not isinstance(data, dict):
        raise Unfit(f"{at} is not an object")
    part = Part(data, at)
    if kind == PLUNGER_SIGN:
        part.flag("grows_pressed")
    elif kind == TIE_CONTACT:
        _check_contact(part)
    else:
        _check_check(part)


def check_study(part: Part) -> None:
    """Raises Unfit where what a study says of its tie is not as it should be; what is left out is
    told where gaps are wanted of it."""
    known = part.data
    for key in ("target_mm", "on_target_within_mm"):
        _positive(part, key)
    if isinstance(known.get("tie"), dict):
        tie = part.part("tie")
        tie.text("by")
        tie.number("beyond_mm", low=0.0)
        for key in ("guides_mm", "stale_k", "blade_error_mm", "block_error_mm", "feel_mm"):
            _positive(tie, key)
    if known.get("methods") is not None:
        for method in part.parts("methods"):
            method.text("name")
            _positive(method, "meant_mm")
            if method.data.get("goes_by") is not None:
                method.text("goes_by")


def _positive(part: Part, key: str) -> None:
    if part.data.get(key) is not None:
        part.number(key, low=0.0)


def _check_contact(part: Part) -> None:
    for key in _SPOT:
        part.whole(key)
    part.text("point")
    found = {key: part.number(key) for key in (*_HEIGHTS, *_BETWEEN)}
    if found["closed_z_mm"] > found["open_z_mm"]:
        raise Unfit(f"{part.at}.closed_z_mm lies above open_z_mm")
    if found["between_low_mm"] > found["between_high_mm"]:
        raise Unfit(f"{part.at}.between_low_mm lies above between_high_mm")


def _check_check(part: Part) -> None:
    part.whole("block")
    part.text("point")
    part.number("shift_mm")
    part.number("limit_mm", low=0.0)
    if not part.flag("moved"):
        return
    spots = part.value("doubted")
    fits = isinstance(spots, list) and all(
        isinstance(spot, list) and len(spot) == len(_SPOT) and {*map(type, spot)} == {int}
        for spot in spots
    )
    if not fits:
        raise Unfit(f"{part.at}.doubted is no list of block, round, trial and attempt")
