"""A loop's stop once its spread is known: looks at fixed counts, and what is refused."""

from pathlib import Path

import numpy as np
import pytest
from loops import alike, drifting, error, independent, last_look, missed, warming
from scipy import stats

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.looping.grid_sums import GridSums
from hostctl.metrology.looping.known_spread import (
    KnownSpread,
    look_counts,
    may_be_known,
    touches_needed,
)
from hostctl.metrology.looping.order_shows import Stretches
from hostctl.metrology.rounded.rounding import rounded_spread

SEED = 5
DATA = Path(__file__).parents[1] / "data"


def test_looks_are_at_preferred_numbers_from_where_points_would_do():
    """ISO 3:1973, series R5 (from memory); z by scipy."""
    counts = look_counts(10_000, 0.1)
    assert counts == (400, 630, 1000, 1600, 2500, 4000, 6300, 10_000)
    z = stats.norm.isf(0.05 / len(counts) / 2)
    assert z / np.sqrt(2 * 400) <= 0.1 < stats.norm.isf(0.05 / 9 / 2) / np.sqrt(2 * 250)


def test_a_loop_too_short_to_know_it_is_looked_at_once():
    assert look_counts(100, 0.1) == (100,)


@pytest.mark.parametrize("known_to", [0.05, 0.1, 0.25, 0.5])
@pytest.mark.parametrize("levels", [1, 6])
def test_fewer_touches_than_needed_can_not_do(known_to, levels):
    """The half width by scipy's chi-square."""
    confidence = 1 - 0.05 / levels
    needed = touches_needed(known_to, confidence)
    assert may_be_known(needed, known_to, confidence)
    df = np.arange(needed - 2, needed)
    missed = (1 - confidence) / len(look_counts(needed, known_to, confidence)) / 2
    ends = np.sqrt(df / stats.chi2.ppf([[missed], [1 - missed]], df))
    half_widths = (ends[0] - ends[1]) / 2
    assert half_widths[0] > known_to >= half_widths[1]


def test_ten_percent_takes_about_two_hundred_touches():
    assert touches_needed(0.1) == 197


def test_lag_one_autocorrelation_is_the_certified_one():
    """NIST StRD, Lew: -0.307304800605679."""
    lew = np.loadtxt(DATA / "strd_univariate" / "Lew.csv", skiprows=1, delimiter=",", ndmin=2)
    sums = GridSums(1.0)
    for value in lew[:, -1]:
        sums.add(value)
    assert sums.neighbours == pytest.approx(-0.307304800605679, rel=1e-12)


def test_sums_are_those_of_numpy_and_scipy():
    values = np.random.default_rng(SEED).integers(-9, 9, 57).astype(float)
    sums = GridSums(0.5)
    for value in values * 0.5:
        sums.add(value)
    assert sums.about_mean == pytest.approx(57 * np.var(values))
    line = stats.linregress(np.arange(57), values)
    assert sums.along / (57 * (57**2 - 1) / 12) == pytest.approx(line.slope)


def test_stretches_stay_few_and_lose_no_touch():
    stretches = Stretches()
    for k in range(1000):
        stretches.add(k)
    assert 8 <= len(stretches.totals) < 16
    assert sum(stretches.totals) + stretches.open_total == sum(range(1000))


def test_the_interval_is_that_of_rounded_readings_at_the_looks_share():
    readings = independent(np.random.default_rng(SEED), 0.7, 0.2, most=400)
    look = last_look(readings, known_to=0.05)
    whole = rounded_spread([readings], resolution=1.0, confidence=0.95)
    assert look.spread == whole.quoted
    assert look.touches == 400
    assert not look.stop


def test_a_loop_taken_up_again_decides_the_same():
    readings = independent(np.random.default_rng(SEED), 2.0, None, most=1000).tolist()
    once, again = (KnownSpread(most=1000, known_to=0.1, resolution=1.0) for _ in range(2))
    first = [once.add(value) for value in readings]
    for value in readings[:555]:
        again.add(value)
    assert [again.add(value) for value in readings[555:]] == first[555:]


def test_what_is_kept_grows_with_the_graduations_and_not_with_the_touches():
    known = KnownSpread(most=10_000, known_to=0.1, resolution=1.0)
    for value in independent(np.random.default_rng(SEED), 1.0, 0.0, most=9_999).tolist():
        known.add(value)
    assert len(known._sums.counts) < 12
    assert len(known._stretches.totals) < 16


def test_readings_all_alike_state_no_spread():
    look = last_look(np.full(400, 3.0))
    assert look.spread == NotYet(reason=look.spread.reason)
    assert look.spread.reason.code is Why.ALL_ALIKE


@pytest.mark.parametrize(
    ("made", "why"),
    [
        (lambda rng: drifting(rng, 3.0, 3.0), Why.LOOP_DRIFTS),
        (lambda rng: warming(rng, 3.0, 5.0), Why.LOOP_DRIFTS),
        (lambda rng: alike(rng, 3.0, -0.4), Why.NEIGHBOURS_ALIKE),
    ],
)
def test_nothing_is_stated_of_a_loop_whose_order_shows(made, why):
    look = last_look(made(np.random.default_rng(SEED)))
    assert isinstance(look.spread, NotYet)
    assert look.spread.reason.code is why
    assert not look.stop


def test_no_number_and_settings_out_of_range_are_refused():
    with pytest.raises(NotEnough):
        KnownSpread(most=100, known_to=0.1, resolution=1.0).add(float("nan"))
    for most, known_to, resolution in [(1, 0.1, 1.0), (100, 0.0, 1.0), (100, 0.1, 0.0)]:
        with pytest.raises(ValueError, match=r" above 0|within 0 to 1"):
            KnownSpread(most=most, known_to=known_to, resolution=resolution)


@pytest.mark.slow
@pytest.mark.parametrize(("sigma", "loops"), [(0.5, 100), (3.0, 1000)])
def test_the_interval_stated_at_the_end_misses_the_truth_in_at_most_one_loop_of_twenty(
    sigma, loops
):
    """Fails beyond 3.5 simulation errors; more loops and cells in tests/data/loops.md."""
    rng = np.random.default_rng([SEED, 1])
    looks = [last_look(independent(rng, sigma, None, most=1000)) for _ in range(loops)]
    wrong = np.mean([missed(look, sigma) for look in looks])
    assert wrong <= 0.05 + 3.5 * error(0.05, loops)
    assert np.mean([isinstance(look.spread, Estimate) for look in looks]) > 0.9


@pytest.mark.slow
@pytest.mark.parametrize(("levels", "loops"), [(6, 300)])
def test_the_intervals_of_all_levels_hold_together(levels, loops):
    """Each at its share of the risk, whichever look it is of; with 95 % each, 24 % would miss."""
    rng, sigma, missing = np.random.default_rng([SEED, 2]), 3.0, 0
    for _ in range(loops):
        wrong = []
        for _ in range(levels):
            confidence = 1 - 0.05 / levels
            known = KnownSpread(most=400, known_to=0.1, resolution=1.0, confidence=confidence)
            looks = filter(None, map(known.add, independent(rng, sigma, None, most=400).tolist()))
            wrong += [missed(look, sigma) for look in looks]
        missing += any(wrong)
    assert missing / loops <= 0.05 + 3.5 * error(0.05, loops)


def test_very_many_readings_near_an_edge_have_a_lower_limit():
    """Chances of a pattern of 1,000 readings underflowed: the limit was 0 (truth 0.5)."""
    readings = independent(np.random.default_rng(1), 0.5, 0.25, most=1000)
    found = rounded_spread([readings], resolution=1.0)
    assert 0.45 < found.interval.low < 0.5
