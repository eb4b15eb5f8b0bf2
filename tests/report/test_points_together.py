"""The mean gap over several points: its interval covers the true one, and is of use.

The truth is simulated: JCGM 100:2008, 4.3 and 5 (from memory), says what 95 % means.
"""

from dataclasses import dataclass
from math import sqrt
from random import Random
from statistics import fmean

import pytest

from hostctl.metrology.rounded.rounding import spread_evidence
from hostctl.metrology.trueness.constant import elsewhere
from hostctl.metrology.trueness.given import given_constant
from hostctl.metrology.trueness.mean_gap import MeanGap
from hostctl.report.sources.material import Block
from hostctl.report.sources.tied import Footing
from hostctl.report.trueness.found import gap_of

STUDIES, ERRORS, MISSED = 150, 3.5, 0.06
RESOLUTION_MM, SD_MM, TRIALS = 0.01, 0.01, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Points:
    """One tie, at the first of several points, which may truly differ by up to apart_mm."""

    number: int
    apart_mm: float = 0.0
    tie_u_mm: float = 0.001
    guides_mm: float = 0.005

    def study(self, rng: Random) -> tuple[float, MeanGap]:
        """The true mean over the points, and what is said of it."""
        here = given_constant(self.tie_u_mm)
        away = elsewhere(here, self.guides_mm)
        error_mm, mean_mm = rng.gauss(0.0, self.tie_u_mm), rng.uniform(-0.1, 0.1)
        true_mm = [mean_mm + rng.uniform(-1.0, 1.0) * self.apart_mm for _ in range(self.number)]
        blocks = []
        for place, at_point_mm in enumerate(true_mm):
            said_mm = 1.2 + rng.uniform(0.0, RESOLUTION_MM)
            guide_mm = rng.uniform(-1.0, 1.0) * self.guides_mm if place else 0.0
            constant_mm = said_mm + error_mm + guide_mm
            gaps_mm = [rng.gauss(at_point_mm, SD_MM) for _ in range(TRIALS)]
            steps = (round((constant_mm - gap_mm) / RESOLUTION_MM) for gap_mm in gaps_mm)
            values_mm = [round(said_mm - step * RESOLUTION_MM, 9) for step in steps]
            blocks.append(
                of_point(f"p{place}", values_mm, Footing(constant=away if place else here))
            )
        return fmean(true_mm), found(blocks)


def of_point(point: str, values_mm: list[float], footing: Footing) -> Block:
    return Block(method="slip", operator="", point=point, values_mm=values_mm, footing=footing)


def found(blocks: list[Block]) -> MeanGap:
    evidence = spread_evidence(
        [block.values_mm for block in blocks], resolution=RESOLUTION_MM, reference="datum"
    )
    return gap_of(blocks, resolution_mm=RESOLUTION_MM, least_sigma_mm=evidence.lower(0.025))


@pytest.mark.slow
@pytest.mark.parametrize("number", [2, 4])
@pytest.mark.parametrize("apart_mm", [0.0, 0.03])
def test_its_interval_covers_the_true_mean_and_is_of_use(number: int, apart_mm: float) -> None:
    of, rng = Points(number=number, apart_mm=apart_mm), Random(f"{number} {apart_mm}")
    missed, widths_mm = 0, []
    for _ in range(STUDIES):
        true_mm, gap = of.study(rng)
        missed += true_mm not in gap.interval
        widths_mm.append(gap.interval.high - gap.interval.low)
    chance = sqrt(MISSED * (1.0 - MISSED) / STUDIES)
    assert missed / STUDIES <= MISSED + ERRORS * chance
    # 2 x 1.96 standard errors of the settings and of the points, the tie's and the guides' beside
    settings_mm = sqrt((SD_MM**2 / TRIALS + apart_mm**2 / 3.0) / number)
    assert fmean(widths_mm) < 2.0 * (2.6 * settings_mm + 1.96 * of.tie_u_mm + of.guides_mm)


def test_readings_on_grids_of_different_phase_have_the_mean_that_they_have() -> None:
    footing = Footing(constant=given_constant(0.001))
    first, second = [0.1013, 0.1113, 0.0913], [0.1176, 0.1076, 0.1276, 0.1176]
    gap = found([of_point("p", first, footing), of_point("q", second, footing)])
    assert gap.value == pytest.approx(fmean([*first, *second]), abs=1e-9)
    assert gap.value in gap.interval


def test_a_point_counts_by_its_readings_and_brings_its_own_doubt() -> None:
    here = given_constant(0.001)
    away = elsewhere(here, 0.05)
    values_mm = [0.10, 0.11, 0.09, 0.10]
    widths_mm = []
    for there in (here, away):
        blocks = [
            of_point("p", values_mm, Footing(constant=here)),
            of_point("q", values_mm, Footing(constant=there)),
        ]
        interval = found(blocks).interval
        widths_mm.append(interval.high - interval.low)
    # half of the readings rest on guides that may be off by 0.05 mm either way
    assert 0.03 < widths_mm[1] - widths_mm[0] < 0.05
