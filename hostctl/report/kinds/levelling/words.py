"""Figures and short phrases of a levelling, the same wherever they are said."""

import math
import re
from collections.abc import Sequence

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.report.document.significant import MINUS, beside, in_mm, significant, whole
from hostctl.report.kinds.levelling.result import (
    HeightFound,
    LevelResult,
    Stays,
    TiltFound,
    TurnFound,
)

_ASCII_MINUS = re.compile(r"(?<!\S)-(?=\d)")
_ENDLESS = 1e6
FINEST_MM = 1e-6
UNTOLD: Stays = "can't be told from none"
FINE_U_MM = 0.0045  # heights that are known better are written to 0.001 mm, others to 0.01 mm


def tilt_words(tilt: TiltFound) -> str:
    """`0.412 mm (95 %: 0.398 to 0.426)`."""
    if tilt.low_mm is None or tilt.high_mm is None:
        return f"{significant(tilt.value_mm, 3)} mm"
    ends = (tilt.value_mm, tilt.low_mm, tilt.high_mm)
    value, low, high = (_to(one, tilt.high_mm - tilt.value_mm) for one in ends)
    return f"{value} mm (95 %: {low} to {high})"


def tilt_alone(tilt: TiltFound) -> str:
    """`0.412 mm`."""
    return tilt_words(tilt).partition(" (")[0]


def estimate_words(found: Estimate | NotYet) -> str:
    """`+0.021 (−0.004 to +0.046)`."""
    if isinstance(found, NotYet):
        return "not told"
    half = (found.high - found.low) / 2
    value, low, high = (_to(one, half, sign=True) for one in (found.value, found.low, found.high))
    return f"{value} ({low} to {high})"


def _to(value: float, half: float, *, sign: bool = False) -> str:
    """A value to a third of half its interval."""
    return beside(value, max(half, 3e-4) / 3, digits=1, sign=sign)


def with_doubt(value: float, u: float | None, *, sign: bool = False) -> str:
    """A value to the digits of its standard uncertainty."""
    if not u:
        return f"{'+' if sign and value > 0 else ''}{significant(value, 3)}"
    return beside(value, u, digits=1, sign=sign)


def signed(value_mm: float, decimals: int = 3) -> str:
    """`+0.021`, `−0.004`."""
    return in_mm(value_mm, 10.0**-decimals)


def with_minus(sentence: str) -> str:
    """A sentence that a run kept, its numbers with the sign that all have here."""
    return _ASCII_MINUS.sub(MINUS, sentence)


def turn_words(turn: TurnFound) -> str:
    """`77° anticlockwise, a quarter of a turn less 13°`; `stays: can't be told from
    none`; empty where it is hardly any."""
    if turn.stays:
        return f"stays: {turn.stays}" if turn.stays == UNTOLD else ""
    below = ", seen from below" if turn.seen_from == "below" else ""
    part = f", {turn.part}" if turn.part else ""
    return f"{whole_degrees(turn.turn_deg)}° {turn.direction}{below}{part}"


def whole_degrees(turn_deg: float) -> str:
    """Nobody turns a screw to a tenth of a degree."""
    return f"{turn_deg:.0f}"


def freedom_words(df: float | None) -> str:
    """Degrees of freedom, cut to whole ones; beyond a million they count as endless."""
    if df is None:
        return "no"
    return whole(math.floor(df) if df < _ENDLESS else math.inf)


def step_of(heights: Sequence[HeightFound]) -> float:
    """To what heights are written: no finer than they are known, but the furthest to two digits."""
    known = 0.001 if max(one.u_mm or 0.0 for one in heights) < FINE_U_MM else 0.01
    furthest = max(max(abs(one.height_mm), abs(one.off_plane_mm)) for one in heights)
    if furthest < FINEST_MM:
        return known
    return min(known, 10.0 ** (math.floor(math.log10(furthest)) - 1))


def whose_bed(result: LevelResult) -> str:
    """`the bed of workshop-tri`."""
    return f"the bed of {result.machine}" if result.machine else f"the surface of {result.name}"


def untold(turns: Sequence[TurnFound]) -> list[str]:
    """The screws whose turn can't be told from none."""
    return [turn.screw for turn in turns if turn.stays == UNTOLD]


def none_is_told(turns: Sequence[TurnFound]) -> bool:
    """Whether heights are too uncertain for any turn."""
    return bool(untold(turns)) and not any(map(is_turned, turns))


def is_turned(turn: TurnFound) -> bool:
    """Whether it is to be turned at all."""
    return not turn.stays
