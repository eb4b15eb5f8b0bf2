"""Operator x method interaction on spread."""

import numpy as np
import pytest
from scipy import special, stats

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.comparison.interaction import (
    SpreadInteraction,
    Standing,
    _log_bias,
    _log_variance,
    spread_interaction,
)
from hostctl.metrology.comparison.interaction_permutation import interaction_permutation
from hostctl.metrology.comparison.spread_permutation import median_distances
from hostctl.metrology.spread.rig import Spread

SEED = 23
LOG_LIMITS = [(9, 0.975), (6, 0.975), (20, 0.025), (15, 0.025)]  # on top, on top, below, below


def spreads(df: float, **s: float) -> dict[str, Spread]:
    return {operator: Spread(s=value, df=df) for operator, value in s.items()}


def of(result: SpreadInteraction | NotYet) -> SpreadInteraction:
    assert isinstance(result, SpreadInteraction)
    return result


def test_paper_is_as_good_as_the_light_in_practised_hands_not_in_new_ones():
    paper = spreads(80, practised=0.010, new=0.030)
    light = spreads(80, practised=0.010, new=0.012)
    result = of(spread_interaction(paper, light, margin=1.5))
    assert result.standing_of("practised") is Standing.AS_GOOD
    assert result.standing_of("new") is Standing.WORSE
    assert result.pairs[0].differs
    assert result.pairs[0].estimate.value == pytest.approx(1.0 / 2.5)
    assert result.test.p_value < 1e-3


def test_the_same_is_denied_where_the_ratio_is_the_same_in_all_hands():
    paper = spreads(80, practised=0.010, new=0.030)
    light = spreads(80, practised=0.010, new=0.030)
    result = of(spread_interaction(paper, light, margin=1.5))
    assert {hands.standing for hands in result.by_operator} == {Standing.AS_GOOD}
    assert not result.pairs[0].differs
    assert result.test.p_value > 0.9


@pytest.mark.parametrize(
    ("p", "standing"), [(0.04, Standing.AS_GOOD), (0.06, Standing.CANNOT_TELL)]
)
def test_as_good_is_said_at_five_per_cent(p, standing):
    """Oracle: scipy's F: equal spreads on 20 and 20 lie within this margin at that p value."""
    margin = stats.f.isf(p, 20, 20) ** 0.5
    same = spreads(20, a=1.0, b=1.0)
    (hands, _) = of(spread_interaction(same, same, margin=margin)).by_operator
    assert hands.as_good_p == pytest.approx(p, rel=1e-9)
    assert hands.standing is standing


def test_the_f_tests_are_adjusted_for_there_being_several_operators():
    """Oracle: scipy's F, two-sided; Holm 1979 by hand: the smaller twice, the larger once."""
    paper, light = spreads(15, a=2.0, b=1.5), spreads(15, a=1.0, b=1.0)
    found = of(spread_interaction(paper, light, margin=1.1)).by_operator
    a, b = (2 * stats.f.sf(ratio**2, 15, 15) for ratio in (2.0, 1.5))
    assert [hands.different_p for hands in found] == pytest.approx([2 * a, b], rel=1e-9)


def test_the_interval_of_a_ratio_of_ratios_is_the_published_form_on_logarithms():
    """Zou and Donner 2008: each log limit's distance from its estimate, squared and added."""
    paper = {"a": Spread(s=2.0, df=9), "b": Spread(s=1.0, df=15)}
    light = {"a": Spread(s=1.5, df=20), "b": Spread(s=1.2, df=6)}
    found = of(spread_interaction(paper, light, margin=2.0)).pairs[0].estimate
    value = np.log(2.0 / 1.5 / (1.0 / 1.2))

    def reach(df, q):
        return 0.5 * np.log(stats.chi2.ppf(q, df) / df)

    low = np.sqrt(sum(reach(f, q) ** 2 for f, q in LOG_LIMITS))
    high = np.sqrt(sum(reach(f, 1 - q) ** 2 for f, q in LOG_LIMITS))
    assert found.value == pytest.approx(np.exp(value))
    assert (found.low, found.high) == pytest.approx((np.exp(value - low), np.exp(value + high)))
    assert found.n == 9 + 15 + 20 + 6 + 4


def test_the_test_over_all_operators_is_the_weighted_scatter_of_log_ratios():
    """Bartlett and Kendall 1946, with scipy's digamma and trigamma; chi-square on one less."""
    paper = {"a": Spread(s=2.0, df=9), "b": Spread(s=1.0, df=15), "c": Spread(s=1.4, df=4)}
    light = {"a": Spread(s=1.5, df=20), "b": Spread(s=1.2, df=6), "c": Spread(s=0.6, df=8)}
    found = of(spread_interaction(paper, light, margin=2.0)).test
    half = np.array([[9, 15, 4], [20, 6, 8]]) / 2
    mean = 0.5 * (special.digamma(half) - np.log(half))
    logs = np.log([2.0 / 1.5, 1.0 / 1.2, 1.4 / 0.6]) - mean[0] + mean[1]
    weights = 1 / (0.25 * special.polygamma(1, half)).sum(axis=0)
    scatter = np.sum(weights * (logs - np.average(logs, weights=weights)) ** 2)
    assert found.statistic == pytest.approx(scatter, rel=1e-9)
    assert found.p_value == pytest.approx(stats.chi2.sf(scatter, 2), rel=1e-9)
    assert found.df == (2,)


def test_few_trials_cannot_tell():
    paper = spreads(4, practised=0.010, new=0.020)
    light = spreads(4, practised=0.010, new=0.012)
    result = of(spread_interaction(paper, light, margin=1.5))
    assert {hands.standing for hands in result.by_operator} == {Standing.CANNOT_TELL}


def test_a_better_method_is_called_better():
    result = of(
        spread_interaction(spreads(40, a=1.0, b=1.0), spreads(40, a=3.0, b=3.0), margin=1.2)
    )
    assert result.standing_of("a") is Standing.BETTER


def test_an_operator_with_alike_readings_is_left_open_not_dropped():
    paper, light = spreads(9, a=0.0, b=1.0, c=1.0), spreads(9, a=1.0, b=1.0, c=1.0)
    result = of(spread_interaction(paper, light, margin=2.0))
    assert set(result.not_yet) == {"a"}
    assert result.standing_of("a") is Standing.CANNOT_TELL


def test_what_cannot_be_compared_is_refused():
    one = spreads(9, a=1.0, b=1.0)
    with pytest.raises(ValueError, match="margin"):
        spread_interaction(one, one, margin=0.9)
    with pytest.raises(NotEnough, match="operators=b, c"):
        spread_interaction(one, spreads(9, a=1.0, c=1.0), margin=2.0)
    assert isinstance(spread_interaction(spreads(9, a=1.0), spreads(9, a=1.0), margin=2.0), NotYet)


@pytest.mark.parametrize("df", [1, 2, 5, 9.5, 60, 1e4])
def test_the_law_of_log_s_is_that_of_the_reference_library(df):
    # scipy: digamma and trigamma
    assert _log_variance(df) == pytest.approx(0.25 * special.polygamma(1, df / 2), rel=1e-10)
    bias = 0.5 * (special.digamma(df / 2) - np.log(df / 2))
    assert _log_bias(df) == pytest.approx(bias, rel=1e-10)


@pytest.mark.slow
@pytest.mark.parametrize("n", [4, 20])
def test_the_ratio_of_ratios_is_covered_and_false_alarms_are_few(n):
    rng = np.random.default_rng([SEED, n])
    runs, truth = 500, {"new": (3.0, 2.0), "practised": (1.0, 1.5)}

    def drawn(place: int) -> dict[str, Spread]:
        return {
            name: Spread(s=rng.normal(0, s[place], n).std(ddof=1), df=n - 1)
            for name, s in truth.items()
        }

    results = [of(spread_interaction(drawn(0), drawn(1), margin=2.0)) for _ in range(runs)]
    covered = np.mean([2.25 in result.pairs[0].estimate.interval for result in results])
    assert 0.95 - 3 * 0.0097 <= covered <= 0.99  # (3 / 2) / (1 / 1.5) = 2.25


@pytest.mark.slow
@pytest.mark.parametrize("n", [4, 20])
def test_the_test_over_all_operators_keeps_its_level(n):
    rng = np.random.default_rng([SEED, 1, n])
    runs = 500

    def drawn(scale: float) -> dict[str, Spread]:
        sizes = zip("abc", (1.0, 2.0, 4.0), strict=True)
        return {
            name: Spread(s=rng.normal(0, scale * s, n).std(ddof=1), df=n - 1) for name, s in sizes
        }

    results = [of(spread_interaction(drawn(1.5), drawn(1.0), margin=2.0)) for _ in range(runs)]
    assert np.mean([result.test.p_value <= 0.05 for result in results]) <= 0.05 + 3 * 0.0097


CELL_SPREADS = {("a", "x"): 1.0, ("a", "y"): 2.0, ("b", "x"): 1.0, ("b", "y"): 6.0}


def cells(rng: np.random.Generator, sigma: float, new_paper: float) -> dict:
    """Rounded readings: two blocks of ten; paper 1.5 times the light, except in new hands."""
    s = {
        ("practised", "light"): sigma,
        ("practised", "paper"): 1.5 * sigma,
        ("new", "light"): 2.0 * sigma,
        ("new", "paper"): new_paper * sigma,
    }
    return {
        cell: [np.round(rng.normal(rng.uniform(), spread, 10)) for _ in range(2)]
        for cell, spread in s.items()
    }


def test_the_strays_from_a_product_are_those_of_additive_logarithms():
    """Oracle: numpy's least squares on log means; the statistic is its weighted residual."""
    rng = np.random.default_rng([SEED, 5])
    parts = {
        cell: [rng.normal(0, s, n)]
        for (cell, s), n in zip(CELL_SPREADS.items(), (9, 7, 11, 5), strict=True)
    }
    means = [np.mean(median_distances(blocks[0])) for blocks in parts.values()]
    design = np.array([[1, 1, 1], [1, 1, 0], [1, 0, 1], [1, 0, 0]])
    fitted = design @ np.linalg.lstsq(design, np.log(means), rcond=None)[0]
    expected = np.sum(np.array([8, 6, 10, 4]) * (np.log(means) - fitted) ** 2)
    found = interaction_permutation(parts, rng, 99)
    assert isinstance(found, Significance)
    assert found.statistic == pytest.approx(expected, rel=1e-9)


@pytest.mark.slow
def test_an_interaction_is_mostly_seen_through_the_rounding():
    rng = np.random.default_rng(SEED)
    results = [interaction_permutation(cells(rng, 1.0, 12.0), rng, 99) for _ in range(50)]
    seen = [isinstance(r, Significance) and r.p_value <= 0.05 for r in results]
    assert np.mean(seen) >= 0.7


@pytest.mark.slow
@pytest.mark.parametrize("sigma", [0.3, 2.0])
def test_a_common_ratio_is_seldom_called_an_interaction(sigma):
    rng = np.random.default_rng([SEED, 2])
    runs = 150
    results = [interaction_permutation(cells(rng, sigma, 3.0), rng, 99) for _ in range(runs)]
    alarms = sum(r.p_value <= 0.05 for r in results if isinstance(r, Significance))
    assert alarms / runs <= 0.05 + 3 * 0.0178


def test_the_permutation_refuses_gaps_and_explains_alike_readings():
    rng = np.random.default_rng(SEED)
    full = cells(rng, 1.0, 3.0)
    with pytest.raises(NotEnough, match=Why.NOT_THE_SAME_METHODS):
        interaction_permutation({k: v for k, v in full.items() if k != ("new", "paper")}, rng)
    alike = {cell: [[0.1, 0.1, 0.1]] for cell in full}
    assert isinstance(interaction_permutation(alike, rng), NotYet)
