"""A claim about a target that a tie makes known: the tie's doubt counts both ways."""

import math

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.confidence_box import MESH, ConfidenceBox, Quantiles
from hostctl.metrology.basis.estimate import Interval
from hostctl.metrology.claims.by_counting import decide_without_law
from hostctl.metrology.claims.claim import Centre, Claim, SpreadLimits
from hostctl.metrology.claims.decision import further_trials, reach
from hostctl.metrology.claims.tolerance import half_width_holding
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets

ABOUT = Claim(tolerance=0.05, centre=Centre.DATUM)


def normal(sd):
    quantiles = Quantiles(tuple(sd * z for z in MESH))
    return ConfidenceBox(upper=quantiles, lower=quantiles)


def limits(**changed):
    known = {
        "sigma": Interval(low=0.008, high=0.013, confidence=0.95),
        "likely": 0.01,
        "n": 10,
        "bias": 0.02,
    }
    return SpreadLimits(**known | changed)


def test_a_doubtful_datum_takes_half_of_what_the_mean_may_err():
    found = reach(ABOUT, limits(datum_error=normal(0.004)))
    # risks 2.5 %, half of it the tie's: each 1.25 %, and sigma's limits as given
    z = stats.norm.ppf(0.9875)
    high = half_width_holding(0.95, 0.02 + z * 0.013 / math.sqrt(10) + z * 0.004, 0.013)
    assert found.high == pytest.approx(high, rel=1e-3)
    sure = reach(ABOUT, limits())
    assert found.low < sure.low < sure.high < found.high
    assert reach(ABOUT, limits(datum_error=normal(1e-9))).high >= sure.high


def test_limits_of_one_block_have_the_tie_in_them_already():
    off = Interval(low=0.01, high=0.03, confidence=0.95)
    assert reach(ABOUT, limits(off=off, datum_error=normal(0.004))) == reach(ABOUT, limits(off=off))


def test_no_number_of_trials_decides_where_the_tie_does_not():
    assert further_trials(ABOUT, limits(bias=0.03, datum_error=normal(0.001))) is not None
    assert further_trials(ABOUT, limits(bias=0.03, datum_error=normal(0.02)), most=60) is None


@pytest.mark.parametrize("wrong", ["meets", "does not meet"])
@pytest.mark.parametrize(("blocks", "tie"), [(1, 0.5), (3, 1.0)])
def test_each_verdict_errs_in_at_most_five_percent(blocks, tie, wrong):
    """Simulated, seed 9: claims just not so; sigma is 1, its limits are chi-square's own."""
    rng, each, studies, bias = np.random.default_rng(9), 8, 1000, 3.0
    df = blocks * (each - 1)
    true = half_width_holding(0.95, bias, 1.0)
    s = np.sqrt(rng.chisquare(df, studies) / df)
    ends = [s * math.sqrt(df / stats.chi2.ppf(q, df)) for q in (0.975, 0.025)]
    means = bias + rng.standard_normal((studies, blocks)) / math.sqrt(each)
    read = means.max(axis=1) + tie * rng.standard_normal(studies)
    error, seen = normal(tie), 0
    for low, high, figure, found in zip(*ends, s, read, strict=True):
        evidence = SpreadLimits(
            sigma=Interval(low=low, high=high, confidence=0.95),
            likely=figure,
            n=each,
            bias=found,
            blocks=blocks,
            datum_error=error,
        )
        band = reach(ABOUT, evidence)
        seen += band.high <= true * (1 - 1e-9) if wrong == "meets" else band.low > true
    assert seen <= 0.05 * studies


@pytest.mark.parametrize(
    ("bias", "tie", "kind"),
    [
        (0.0, 0.0, Meets),
        (0.0, 0.02, CannotTellYet),
        (0.09, 0.0, DoesNotMeet),
        (0.09, 0.03, CannotTellYet),
    ],
)
def test_a_count_allows_for_the_tie(bias, tie, kind):
    values = [bias + 0.01 * k for k in (-2, -1, 0, 1, 2)] * 30
    error = normal(tie) if tie else None
    found = decide_without_law(ABOUT, [values], resolution=0.01, rig_sd=0.0, datum_error=error)
    assert isinstance(found, kind)
