"""A judged round as the decision that is kept: its data are what every channel and report show.

```
{"round": 1, "within_mm": what is good enough, "sign": -1 where the number falls as the bed comes
 up, else 1,
 "verdict": "turn|within-tolerance|within-rig|no-better|out-of-travel|jumped",
 "heights": [{"point", "x_mm", "y_mm", "height_mm", "u_mm"}],    about the mean, up positive
 "tilt_mm", "tilt_low_mm", "tilt_high_mm", "kept": "mean" or a name, "whole": true,
 "turns": [{"screw", "x_mm", "y_mm", "raise_mm", "u_mm", "turn_deg", "u_deg",
            "direction": "clockwise|anticlockwise" (from above), "target_mm": number or null}],
 "moved": [{"screw", "expected_mm", "moved_mm", "u_mm", "noticed"}],
 "noticed": [sentences], "left": [sentences: what no turn mends, once no more are made],
 "unmet": [points], "raised_mm": of what was wanted of the whole bed}
```
turn_deg is 0 for a screw that stays. heights lacks the points of `unmet`.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from hostctl.metrology.levelling.advice import Turn as Advised
from hostctl.metrology.levelling.outcome import Moved, Noticed
from hostctl.metrology.levelling.standing import Verdict
from hostctl.run.procedures.levelling import saying
from hostctl.run.procedures.levelling.judging import Judged, Judging
from hostctl.run.procedures.levelling.places import nearest
from hostctl.run.procedures.levelling.targets import Targets
from hostctl.run.procedures.levelling.turns import direction_of, turns_of
from hostctl.run.procedures.procedure import Decision, Json
from hostctl.store.rows import LEVELLED

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew

DIGITS = 6
WITH_TURNS = (Verdict.TURN, Verdict.OUT_OF_TRAVEL)


def decision_of(judged: Judged, judging: Judging, *, broken_off: bool) -> Decision:
    """What is kept of a round. broken_off: the run stood still during the turns before it."""
    turns = _turns(judged, judging) if judged.verdict in WITH_TURNS else []
    tilt = judged.standing.tilt
    data: dict[str, Json] = {
        "round": judged.number,
        "within_mm": judging.level.within_mm,
        "sign": judged.read.sign,
        "verdict": judged.verdict.value,
        "heights": _heights(judged),
        "tilt_mm": _mm(tilt.value_mm),
        "tilt_low_mm": _mm(tilt.low_mm),
        "tilt_high_mm": _mm(tilt.high_mm),
        "kept": judging.level.keep or "mean",
        "whole": judged.advice.whole,
        "turns": turns,
        "moved": _moved(judged, [screw.name for screw in judging.screws]),
        "unmet": list(judged.read.unmet),
        "raised_mm": _mm(judged.left_mm * judged.advice.share),
    }
    asked = turns_of(Decision(what="", data=data))
    said = saying.verdict(judged, judging, asked)
    noticed = list(saying.noticed(judged, judging, broken_off=broken_off))
    left = list(saying.left(judged, judging.level, len(judging.screws)))
    what = " ".join([said, *noticed, *left])
    return Decision(what=what, data={**data, "noticed": noticed, "left": left}, kind=LEVELLED)


def _heights(judged: Judged) -> list[Json]:
    heights = judged.heights
    mean_mm = float(heights.height_mm.mean())
    rows = zip(
        heights.names,
        heights.x_mm.tolist(),
        heights.y_mm.tolist(),
        heights.height_mm.tolist(),
        heights.u_mm.tolist(),
        strict=True,
    )
    return [
        {"point": name, "x_mm": x, "y_mm": y, "height_mm": _mm(z - mean_mm), "u_mm": _mm(u)}
        for name, x, y, z, u in rows
    ]


def _turns(judged: Judged, judging: Judging) -> list[Json]:
    advised = judged.advice.turns
    targets = Targets(
        supports=judging.supports,
        raises_mm=[turn.raise_mm for turn in advised],
        read=judged.read,
        reach=judging.reach,
    )
    strained = bool(judged.strain_mm.any())  # a stiff plate and a soft one then move otherwise
    met = [judging.points[name] for name in judged.read.names]
    return [
        _turn(turn, screw, None if strained else targets.of(number, nearest(screw, met)))
        for number, (turn, screw) in enumerate(zip(advised, judging.screws, strict=False))
    ]


def _turn(turn: Advised, screw: "BedScrew", target_mm: float | None) -> dict[str, Json]:
    return {
        "screw": screw.name,
        "x_mm": screw.x_mm,
        "y_mm": screw.y_mm,
        "raise_mm": _mm(turn.raise_mm),
        "u_mm": _mm(turn.u_mm),
        "turn_deg": round(abs(turn.turn_deg), 2),
        "u_deg": round(turn.u_deg, 2),
        "direction": direction_of(screw, turn.raise_mm),
        "target_mm": target_mm if turn.turn_deg else None,
    }


def _moved(judged: Judged, screws: Sequence[str]) -> list[Json]:
    moved = judged.outcome.moved if judged.outcome else ()
    return [_one_moved(one) for one in moved if one.screw in screws]


def _one_moved(one: Moved) -> dict[str, Json]:
    instead = one.noticed is Noticed.INSTEAD
    return {
        "screw": one.screw,
        "expected_mm": _mm(one.expected_mm),
        "moved_mm": _mm(one.moved_mm),
        "u_mm": _mm(one.u_mm),
        "noticed": f"{one.noticed.value}:{one.instead_of}" if instead else one.noticed.value,
    }


def _mm(value: float) -> float:
    return round(float(value), DIGITS)
