"""Nested repeats: readings within days or settings."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.distributions import f_quantile
from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.components.anova import one_way, pooled_sd, pooled_within
from hostctl.metrology.components.mean_squares import MeanSquare, difference_interval
from hostctl.metrology.components.nested import two_levels, two_levels_of_means
from hostctl.metrology.spread.rig import Spread

DATA = Path(__file__).parents[1] / "data"
STUDIES = DATA / "gauge_studies"
GUM = json.loads((STUDIES / "gum_h5_nested_anova.json").read_text())
RESISTIVITY = json.loads((STUDIES / "gauge_study_resistivity.json").read_text())
with (STUDIES / "gauge_study_resistivity.csv").open() as file:
    WAFERS = list(csv.DictReader(file))
with (DATA / "repeatability_nist_check_standard.csv").open() as file:
    OCCASIONS = list(csv.DictReader(file))


def test_days_of_the_guide():
    # JCGM 100:2008, H.5: s_b 85, s of means 57, F 2.25 (2.26 from rounded means), s_B 43 (uV)
    within = Spread(s=pooled_sd(GUM["day_sd_uV"], [4] * 10)[0], df=40)
    result = two_levels_of_means(GUM["day_mean_minus_10V_uV"], within, readings=5)
    published = GUM["expected_published"]
    assert isinstance(result.test, Significance)
    assert result.within.s == pytest.approx(published["s_b_uV"], abs=0.5)
    assert result.of_means.s == pytest.approx(published["s_of_day_means_uV"], abs=0.5)
    assert result.of_means.s * 5**0.5 == pytest.approx(published["s_a_uV"], abs=0.5)
    assert result.test.statistic == pytest.approx(published["F"], abs=0.015)
    assert result.test.df == (9, 40)
    assert result.between.value == pytest.approx(published["s_B_uV"], abs=0.5)
    assert result.u_mean == pytest.approx(published["u_mean_if_between_effect_uV"], abs=0.5)
    assert result.u_mean_pooled == pytest.approx(
        published["u_mean_if_no_between_effect_uV"], abs=0.5
    )
    assert result.mean == pytest.approx(97.1)
    limits = round(f_quantile(0.95, 9, 40), 2), round(f_quantile(0.975, 9, 40), 2)
    assert limits == (published["F_crit_95"], published["F_crit_97_5"])


def test_a_check_standard_over_many_occasions():
    # e-Handbook 2.6.2: repeatability 0.06139 on 125, level 2 0.0268 on 24, centre 97.06984
    s, df = pooled_sd(
        [float(row["sd_of_6"]) for row in OCCASIONS], [float(row["dof"]) for row in OCCASIONS]
    )
    means = [float(row["mean_of_6"]) for row in OCCASIONS]
    result = two_levels_of_means(means, Spread(s=s, df=df), readings=6)
    assert (s, df) == (pytest.approx(0.06139, abs=5e-6), 125)
    assert result.of_means.s == pytest.approx(0.0268, abs=5e-5)
    assert result.mean == pytest.approx(97.06984, abs=5e-6)
    assert result.between.value == pytest.approx(0.00948999, abs=5e-9)  # recomputed beside it


@pytest.mark.parametrize("probe", ["1", "281", "283", "2062", "2362"])
def test_three_levels_of_the_resistivity_probes(probe):
    # e-Handbook 2.6.1; probe 2362 published (from memory): day 0.0362 on 50, run 0.0197 on 5
    expected = RESISTIVITY["recomputed"][probe]
    rows = [row for row in WAFERS if row["probe"] == probe]
    repeat, df = pooled_sd([float(row["sd_of_6"]) for row in rows], [5.0] * len(rows))
    days: dict[tuple[str, str], list[float]] = {}
    for row in rows:
        days.setdefault((row["wafer"], row["run"]), []).append(float(row["average"]))
    runs: dict[str, list[float]] = {}
    for (wafer, _), averages in days.items():
        runs.setdefault(wafer, []).append(float(np.mean(averages)))
    day, run = pooled_within(list(days.values())), pooled_within(list(runs.values()))
    assert (repeat, df) == (pytest.approx(expected["repeatability_sd"], rel=1e-9), 300)
    assert (day.ms**0.5, day.df) == (pytest.approx(expected["level2_day_sd"], rel=1e-9), 50)
    assert (run.ms**0.5, run.df) == (pytest.approx(expected["level3_run_sd"], rel=1e-9), 5)


def test_pooling_of_standard_deviations():
    # e-Handbook 2.4.4.4: sums of squares 3.17635 on 300: 0.10290
    ss = np.array([0.48115, 0.69209, 0.48483, 1.21752, 0.30076])
    assert pooled_sd(np.sqrt(ss / 60), [60] * 5) == (pytest.approx(0.1029, abs=5e-6), 300)


def test_from_readings_the_same_as_from_their_summaries():
    groups = [[1.0, 2.0, 4.0], [2.0, 2.5, 3.5], [6.0, 7.0, 6.5]]
    whole, anova = two_levels(groups), one_way(groups)
    oracle = stats.f_oneway(*groups)  # scipy
    assert isinstance(whole.test, Significance)
    assert isinstance(anova.test, Significance)
    assert whole.test.statistic == pytest.approx(oracle.statistic)
    assert anova.test.p_value == pytest.approx(oracle.pvalue)
    assert whole.between.value == pytest.approx(((anova.between.ms - anova.within.ms) / 3) ** 0.5)


def difference_of_mean_squares(m1: float, df1: float, m2: float, df2: float) -> tuple[float, float]:
    """Ting et al. 1990, closed form, two-sided 95 %, with scipy's quantiles."""
    chi = {q: stats.chi2.ppf(q, df1) / df1 for q in (0.025, 0.975)}
    psi = {q: stats.chi2.ppf(q, df2) / df2 for q in (0.025, 0.975)}

    def reach(share1: float, share2: float, f: float) -> float:
        cross = ((f - 1) ** 2 - (share1 * f) ** 2 - share2**2) / f
        return float(np.sqrt((share1 * m1) ** 2 + (share2 * m2) ** 2 + cross * m1 * m2))

    below = reach(1 - 1 / chi[0.975], 1 / psi[0.025] - 1, stats.f.ppf(0.975, df1, df2))
    above = reach(1 / chi[0.025] - 1, 1 - 1 / psi[0.975], stats.f.ppf(0.025, df1, df2))
    return m1 - m2 - below, m1 - m2 + above


@pytest.mark.parametrize(("m1", "df1", "m2", "df2"), [(9.0, 9, 2.0, 40), (1.1, 4, 1.0, 8)])
def test_the_interval_of_a_difference_of_mean_squares_is_the_published_form(m1, df1, m2, df2):
    got = difference_interval(MeanSquare(value=m1, df=df1), MeanSquare(value=m2, df=df2))
    assert got == pytest.approx(difference_of_mean_squares(m1, df1, m2, df2), rel=1e-9)


def test_what_the_days_add_has_that_interval():
    groups = [[1.0, 2.0, 4.0], [2.0, 2.5, 3.5], [6.0, 7.0, 6.5]]
    result, anova = two_levels(groups), one_way(groups)
    low, high = difference_of_mean_squares(anova.between.ms, 2, anova.within.ms, 6)
    assert result.between.low == pytest.approx((max(low, 0.0) / 3) ** 0.5)
    assert result.between.high == pytest.approx((high / 3) ** 0.5)
    assert (result.of_means.df, result.between.n) == (2, 3)


def test_groups_that_hardly_differ_have_no_spread_of_their_own():
    result = two_levels([[1.0, 5.0], [2.0, 4.0], [1.5, 4.5]])
    assert (result.between.value, result.between.low) == (0.0, 0.0)
    assert result.between.high > 0.0


def test_what_cannot_be_analysed_is_refused_or_explained():
    for bad in ([], [[1.0, 2.0]], [[1.0, 2.0], []], [[1.0, np.nan], [1.0, 2.0]], [[1.0], [2.0]]):
        with pytest.raises(NotEnough):
            two_levels(bad)
    with pytest.raises(NotEnough, match="REML"):
        two_levels([[1.0, 2.0], [1.0, 2.0, 3.0]])
    with pytest.raises(NotEnough, match="no group has two"):
        one_way([[1.0], [2.0]])
    assert isinstance(one_way([[0.1, 0.1, 0.1], [0.3, 0.3, 0.3]]).test, NotYet)
    assert one_way([[0.1, 0.1], [0.1, 0.1]]).r_squared == 0.0
