"""The claim judged by counting alone: published sizes of samples, and how often it errs."""

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq

from hostctl.metrology.basis.reason import Why
from hostctl.metrology.claims.by_counting import decide_without_law, left_out, most_in_a_band
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.looks import Looks
from hostctl.metrology.claims.tolerance import settings_for_extremes
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets

SEED = 20_261_130
H = 0.01


def claim(centre=Centre.LONG_RUN_MEAN, tolerance=0.05, **changes):
    return Claim(tolerance=tolerance, centre=centre, **changes)


def decide(which, *blocks, rig_sd=0.0):
    return decide_without_law(which, blocks, resolution=H, rig_sd=rig_sd)


def spread_over(n, reach):
    return [round(reach * (-1) ** k, 3) for k in range(n)]


@pytest.mark.parametrize(("n", "verdict"), [(58, CannotTellYet), (59, Meets)])
def test_about_a_datum_59_of_59_within_meet(n, verdict):
    """59: NIST/SEMATECH e-Handbook 7.2.6.4; ISO 16269-6:2014 annex G (from memory)."""
    assert isinstance(decide(claim(Centre.DATUM), spread_over(n, 0.03)), verdict)


def test_a_band_that_holds_takes_93_as_published():
    """93 at 95 %/95 %: the same two sources."""
    assert settings_for_extremes(0.95, 0.95) == 93


@pytest.mark.parametrize("which", [claim(), claim(looks=Looks(number=1))])
def test_without_a_datum_so_many_meet_as_hold_at_four_fifths_of_the_risk(which):
    least = settings_for_extremes(0.95, 1.0 - 0.8 * which.risk)
    assert isinstance(decide(which, spread_over(least, 0.03)), Meets)
    assert decide(which, spread_over(least - 1, 0.03)).why.code is Why.BAND_TOO_FEW


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_what_lies_to_one_side_is_measured_from_the_average_not_from_a_middle(side):
    heaps = [0.0] * 103 + [0.1 * side] * 12
    assert isinstance(decide(claim(tolerance=0.06), heaps), CannotTellYet)
    assert isinstance(decide(claim(tolerance=0.11), heaps), Meets)


@pytest.mark.parametrize(("n", "cut"), [(10, 0), (93, 0), (152, 0), (153, 1), (207, 1), (208, 2)])
def test_as_many_are_left_out_as_published(n, cut):
    """93, 153, 208: two-sided sizes at 95 %/95 % for 1, 2, 3 at either end (Wilks; from memory)."""
    assert left_out(0.95, 0.05, n) == cut


@pytest.mark.parametrize("n", [93, 200, 1000])
def test_what_is_left_out_agrees_with_the_beta_law_of_the_band(n):
    """Oracle: scipy; the share between order statistics r and s is beta on s - r, n + 1 - s + r."""

    def sure(cut):
        spaces = n - 1 - 2 * cut
        return stats.beta.sf(0.95, spaces, n + 1 - spaces)

    cut = left_out(0.95, 0.05, n)
    assert sure(cut) >= 0.95 > sure(cut + 1)


def test_a_reading_at_the_limit_may_be_beyond_it():
    assert isinstance(decide(claim(Centre.DATUM), [0.05] * 100), CannotTellYet)
    assert isinstance(decide(claim(Centre.DATUM), [0.045] * 100), Meets)
    near = [*[0.0] * 98, 0.045, -0.045]
    assert isinstance(decide(claim(tolerance=0.051), near), CannotTellYet)  # 0.05 and its error
    assert isinstance(decide(claim(tolerance=0.052), near), Meets)


def test_about_a_datum_each_block_must_show_it():
    good, bad = spread_over(60, 0.02), [0.02] * 20
    which = claim(Centre.DATUM)
    assert isinstance(decide(which, good, good), Meets)
    assert decide(which, good, bad).why.code is Why.COUNT_OPEN
    assert isinstance(decide(which, good, [0.2] * 20), DoesNotMeet)


def test_without_a_datum_the_largest_block_speaks_and_none_may_be_wider():
    good = spread_over(100, 0.02)
    assert isinstance(decide(claim(), good, [0.9, 0.91]), Meets)
    assert decide(claim(), good, [0.8, 0.95]).why.code is Why.BAND_WIDER


def test_what_no_band_can_hold_does_not_meet_about_any_centre():
    far = [0.0, 0.3, 0.6, 0.9] * 5
    assert decide(claim(), far).why.code is Why.NO_BAND_HOLDS
    assert isinstance(decide(claim(), far, rig_sd=0.01), DoesNotMeet)


def test_what_the_rig_may_do_is_not_laid_on_the_settings():
    far = [0.0, 0.3, 0.6, 0.9] * 5
    assert isinstance(decide(claim(), far, rig_sd=None), CannotTellYet)
    assert isinstance(decide(claim(), far, rig_sd=0.3), CannotTellYet)


def test_no_number_of_further_trials_is_foretold():
    assert decide(claim(), spread_over(20, 0.02)).further_trials is None


def test_the_fullest_band_is_the_one_a_plain_search_finds():
    values = sorted(np.random.default_rng(SEED).exponential(size=40).round(2).tolist())
    plain = max(sum(low <= value <= low + 0.7 for value in values) for low in values)
    assert most_in_a_band(values, 0.7) == plain


LAWS = {
    "exponential": stats.expon(),
    "t3": stats.t(3),
    "heaps": stats.rv_histogram(([8.0, 0.0, 2.0], [0.0, 0.1, 3.0, 3.1]), density=True),
}


def studies(law, n, number=1000):
    drawn = LAWS[law].rvs(size=(number, n), random_state=np.random.default_rng(SEED))
    return drawn.round(3).tolist()


@pytest.mark.parametrize("law", LAWS)
def test_whatever_the_law_meets_is_said_of_too_many_outside_in_at_most_5_percent(law):
    """The tolerance is a hair less than what holds 95 % about the law's mean."""
    mean = LAWS[law].mean()
    tolerance = 0.999 * brentq(
        lambda h: LAWS[law].cdf(mean + h) - LAWS[law].cdf(mean - h) - 0.95, 0.01, 20.0
    )
    met = [
        isinstance(
            decide_without_law(claim(tolerance=tolerance), [study], resolution=0.001, rig_sd=0.0),
            Meets,
        )
        for n in (98, 200, 400)
        for study in studies(law, n)
    ]
    assert max(np.reshape(met, (3, -1)).mean(axis=1)) <= 0.05 + 3.5 * np.sqrt(0.05 * 0.95 / 1000)


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize("n", [12, 60])
def test_whatever_the_law_what_just_meets_is_refuted_in_at_most_5_percent(law, n):
    """The tolerance is half the narrowest band that holds 95 %."""
    low = np.linspace(0.0, 0.05, 501)
    tolerance = float(np.min(LAWS[law].ppf(low[:-1] + 0.95) - LAWS[law].ppf(low[:-1]))) / 2
    assert np.isfinite(tolerance)
    which = claim(tolerance=tolerance)
    found = [
        decide_without_law(which, [study], resolution=0.001, rig_sd=0.0)
        for study in studies(law, n)
    ]
    refuted = np.mean([isinstance(one, DoesNotMeet) for one in found])
    assert refuted <= 0.05 + 3.5 * np.sqrt(0.05 * 0.95 / 1000)
