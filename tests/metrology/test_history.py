"""Control charts and run rules against the e-Handbook and known run lengths."""

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.over_time.history import ewma_chart, individuals_chart, spread_chart
from hostctl.metrology.over_time.run_rules import USUAL, Rule, signals

DATA = Path(__file__).parent.parent / "data"
EWMA = json.loads((DATA / "ewma.json").read_text())
CHECKS = json.loads((DATA / "repeatability_nist_check_standard.json").read_text())


def check_standard(column):
    text = (DATA / "repeatability_nist_check_standard.csv").read_text()
    return [float(row[column]) for row in csv.DictReader(text.splitlines())]


def test_the_handbooks_individuals_chart():
    """e-Handbook 6.3.2.2, flow rates (data and results from memory)."""
    flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    chart = individuals_chart(flow)
    found = (chart.centre, chart.moving_range_mean, chart.upper, chart.lower)
    assert [round(value, 4) for value in found] == [50.81, 1.8778, 55.8041, 45.8159]
    assert chart.signals == ()
    assert chart.rough


def test_the_handbooks_moving_averages():
    """e-Handbook 6.3.2.4 (mostly from memory; LCL unrounded 47.411568, recalled as 47.4115)."""
    given, published = EWMA["inputs"], EWMA["published"]
    chart = ewma_chart(
        given["data"], target=given["start"], sigma=given["sd"], weight=given["weight"]
    )
    averages = published["ewma_including_start"][1:]
    assert list(chart.averages) == pytest.approx(averages, abs=0.00501)
    assert round(chart.settled_upper, 4) == published["UCL"]
    assert chart.settled_lower == pytest.approx(published["LCL"], abs=1e-4)
    assert chart.beyond == ()


def test_early_limits_of_moving_averages_are_narrower():
    chart = ewma_chart([0.0] * 40, target=0, sigma=1, weight=0.3)
    assert chart.upper[0] == pytest.approx(3 * 0.3)
    assert chart.upper[-1] == pytest.approx(chart.settled_upper, rel=1e-6)


def test_a_small_lasting_shift_is_seen_by_the_moving_average():
    drifted = [0.0] * 10 + [1.2] * 10
    chart = ewma_chart(drifted, target=0, sigma=1, weight=0.2)
    assert min(chart.beyond) in range(11, 20)


def test_the_spread_of_a_check_is_held_against_all_checks():
    """NIST/SEMATECH e-Handbook 2.6.2, check standard: s1 0.06139 on 125, limit 0.0928."""
    published = CHECKS["expected_published"]
    chart = spread_chart(check_standard("sd_of_6"), check_standard("dof"))
    assert round(chart.pooled_sd, 5) == published["level1_sd"]
    assert chart.pooled_df == published["level1_dof"]
    assert round(chart.upper[0], 5) == published["precision_ucl"]
    assert [round(s, 3) for s in np.array(check_standard("sd_of_6"))[list(chart.beyond)]] == [
        0.117,
        0.116,
    ]


def test_the_centre_of_the_check_standard():
    chart = individuals_chart(check_standard("mean_of_6"))
    assert round(chart.centre, 5) == CHECKS["expected_published"]["centre"]
    assert not chart.rough


def test_limits_come_from_the_baseline_alone():
    steady = [10.0, 10.1, 9.9, 10.0, 10.1, 9.9]
    chart = individuals_chart([*steady, 12.0], baseline=6)
    assert chart.centre == pytest.approx(10)
    assert chart.moving_range_mean == pytest.approx(0.14)  # of 0.1, 0.2, 0.1, 0.1 and 0.2
    assert chart.jumps == (6,)
    assert [signal.rule for signal in chart.signals] == [Rule.BEYOND]


def test_checks_all_alike_allow_no_limits():
    assert isinstance(individuals_chart([0.02] * 8), NotYet)


WAVE = [0.5 if i % 2 else -0.5 for i in range(14)]


@pytest.mark.parametrize(
    ("z", "rule", "first", "last"),
    [
        ([0.1, -3.1], Rule.BEYOND, 1, 1),
        ([-1] + [0.1, 0.5] * 4 + [0.2], Rule.RUN, 1, 9),
        ([1, 0, 0.1, 0.2, 0.3, 0.4, 0.5], Rule.TREND, 1, 6),
        (WAVE, Rule.SAWTOOTH, 0, 13),
        ([2.1, 0, 2.1], Rule.TWO_OF_THREE, 0, 2),
        ([-1.1, -1.1, 0, -1.1, -1.1], Rule.FOUR_OF_FIVE, 0, 4),
        ([2, *[0.9, -0.9] * 7, 0.9], Rule.HUGGING, 1, 15),
        ([1.1, -1.1, 1.2, -1.2] * 2, Rule.SHUNNING, 0, 7),
    ],
)
def test_each_rule_sees_its_pattern_where_it_is(z, rule, first, last):
    (signal,) = signals(z, [rule])
    assert (signal.rule, signal.first, signal.last) == (rule, first, last)


@pytest.mark.parametrize(
    ("z", "rule"),
    [
        ([3.0], Rule.BEYOND),
        ([0.1] * 8, Rule.RUN),
        ([0.1] * 8 + [0.0] + [0.1] * 8, Rule.RUN),  # a point on the centre ends the run
        ([0, 0.1, 0.2, 0.3, 0.4], Rule.TREND),
        ([0, 0.1, 0.2, 0.2, 0.3, 0.4], Rule.TREND),  # equal neighbours end the trend
        (WAVE[:13], Rule.SAWTOOTH),
        ([2.1, 0, -2.1], Rule.TWO_OF_THREE),
        ([2.1, 2.1], Rule.TWO_OF_THREE),
        ([1.1, 1.1, 0, 0, 1.1], Rule.FOUR_OF_FIVE),
        ([0.5] * 14, Rule.HUGGING),
        ([1.1] * 7, Rule.SHUNNING),
        ([1.1] * 7 + [1.0], Rule.SHUNNING),  # on the line is not beyond it
        ([0.5] * 14 + [1.0], Rule.HUGGING),  # nor within it
    ],
)
def test_no_rule_sees_a_pattern_that_falls_short(z, rule):
    assert signals(z, [rule]) == ()


def run_length(rng, rules):
    z = rng.standard_normal(1000)
    while not (found := signals(z, rules)):
        z = np.concatenate([z, rng.standard_normal(1000)])
    return found[0].last + 1


@pytest.mark.slow
@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        ((Rule.BEYOND,), 370.4),
        ((Rule.BEYOND, Rule.TWO_OF_THREE), 225.44),
        ((Rule.BEYOND, Rule.FOUR_OF_FIVE), 166.05),
        ((Rule.BEYOND, Rule.TWO_OF_THREE, Rule.FOUR_OF_FIVE), 132.89),
        (USUAL, 120),  # no source: our own choice of rules, as the module states
    ],
)
def test_false_alarms_come_as_rarely_as_published(rules, expected):
    """Champ and Woodall (1987), Technometrics 29, table 1 (from memory); 1,500 seeded charts."""
    rng = np.random.default_rng(1987)
    lengths = [run_length(rng, rules) for _ in range(1500)]
    assert np.mean(lengths) == pytest.approx(expected, abs=3 * np.std(lengths) / math.sqrt(1500))


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: individuals_chart([]), Why.TOO_FEW),
        (lambda: individuals_chart([1.0]), Why.TOO_FEW),
        (lambda: individuals_chart([1.0, 2.0, 3.0], baseline=1), Why.CHECKS_TOO_FEW),
        (lambda: individuals_chart([1.0, math.nan]), Why.NOT_A_NUMBER),
        (lambda: ewma_chart([], target=0, sigma=1), Why.TOO_FEW),
        (lambda: ewma_chart([1.0], target=0, sigma=0), "above 0"),
        (lambda: ewma_chart([1.0], target=0, sigma=1, weight=0), "above 0"),
        (lambda: spread_chart([], []), Why.TOO_FEW),
        (lambda: spread_chart([1.0], [0]), "above 0"),
        (lambda: spread_chart([1.0, 2.0], [5]), "above 0"),
        (lambda: spread_chart([math.inf], [5]), Why.NOT_A_NUMBER),
    ],
)
def test_what_makes_no_chart_is_refused_in_words(call, error):
    with pytest.raises(ValueError, match=error):
        call()
