"""How a bed stands after a round, and whether another turn is worth it."""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from hostctl.metrology.geometry.bed import HeightSpread, Shape, fit_shape
from hostctl.metrology.geometry.flatness import MinimumZone, minimum_zone
from hostctl.metrology.levelling.advice import Advice
from hostctl.metrology.levelling.heights import Heights
from hostctl.metrology.levelling.outcome import Outcome
from hostctl.metrology.levelling.plane import Tilt


class Verdict(StrEnum):
    """What to do next."""

    TURN = "turn"
    WITHIN_TOLERANCE = "within-tolerance"
    WITHIN_RIG = "within-rig"
    NO_BETTER = "no-better"
    OUT_OF_TRAVEL = "out-of-travel"
    JUMPED = "jumped"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How the bed stands.

    tilt: highest less lowest of the plane over measured points and screws, with limits that both
    hold at 95 %. shape, zone: what no screw can mend, twist and bow, and the thinnest slab that
    holds the points.
    """

    verdict: Verdict
    tilt: Tilt
    shape: Shape
    zone: MinimumZone


def stand(
    heights: Heights,
    advice: Advice,
    *,
    within_mm: float,
    before: Standing | None = None,
    outcome: Outcome | None = None,
) -> Standing:
    """The verdict on a round.

    before, outcome: of the round whose turns were made since, None in the first. Reading that
    jumped comes first, then tolerance, travel, what the rig can measure, and no progress.
    """
    tilt = tilt_of(heights, advice)
    rms = float(np.sqrt((heights.u_mm**2).mean()))
    spread = HeightSpread(sd=rms, df=float(heights.df.min()))
    return Standing(
        verdict=_verdict(heights, advice, tilt, within_mm, before, outcome),
        tilt=tilt,
        shape=fit_shape(heights.x_mm, heights.y_mm, heights.height_mm, height_spread=spread),
        zone=minimum_zone(heights.x_mm, heights.y_mm, heights.height_mm),
    )


def tilt_of(heights: Heights, advice: Advice) -> Tilt:
    """The plane's tilt over the measured points and the screws."""
    x = np.append(heights.x_mm, [turn.screw.x_mm for turn in advice.turns])
    y = np.append(heights.y_mm, [turn.screw.y_mm for turn in advice.turns])
    return advice.plane.tilt(x, y)


def _verdict(
    heights: Heights,
    advice: Advice,
    tilt: Tilt,
    within_mm: float,
    before: Standing | None,
    outcome: Outcome | None,
) -> Verdict:
    if heights.jump is not None or (outcome is not None and outcome.jumped):
        return Verdict.JUMPED
    if tilt.high_mm <= within_mm:
        return Verdict.WITHIN_TOLERANCE
    if not advice.reachable:
        return Verdict.OUT_OF_TRAVEL
    if tilt.low_mm <= 0.0 or advice.error_mm >= advice.share * tilt.value_mm:
        return Verdict.WITHIN_RIG
    if before is not None and outcome is not None and outcome.as_advised:
        doubt_mm = np.hypot(
            before.tilt.high_mm - before.tilt.value_mm, tilt.high_mm - tilt.value_mm
        )
        if before.tilt.value_mm - tilt.value_mm <= doubt_mm:
            return Verdict.NO_BETTER
    return Verdict.TURN


def _no_better(before: Tilt, now: Tilt) -> bool:
    """Whether the tilt shrank by no more than the two rounds' uncertainty together."""
    halves = before.high_mm - before.value_mm, now.high_mm - now.value_mm
    return before.value_mm - now.value_mm <= math.hypot(*halves)
