"""The law of the score: exact for points, kept at the worst place where readings are rounded."""

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.reference import spread_freedom
from hostctl.metrology.rounded.law.bin_counts import count_bins
from hostctl.metrology.rounded.law.make_table import FRAMES, SIGMAS, SIZES, moments_of
from hostctl.metrology.rounded.law.many_samples import count_rows, scores, sums_of_squares
from hostctl.metrology.rounded.law.many_tails import ManyStudies
from hostctl.metrology.rounded.law.moments import PLACES, Moments, block_moments
from hostctl.metrology.rounded.law.score import distinct_blocks, score
from hostctl.metrology.rounded.law.tails import gamma_law, tails
from hostctl.metrology.rounded.rounding import spread_evidence

SEED = 20_261_128


def studies(rng, reference, size, sigma, place, many):
    blocks, n = size
    settings = rng.standard_normal((many, blocks, n)) * sigma + place
    if reference == "first":
        settings = np.rint(settings - settings[:, :, :1] + place)
        settings[:, :, 0] = 0.0
    if reference == "previous":
        steps = rng.standard_normal((many, blocks, n + 1)) * sigma / 2**0.5
        settings = np.diff(steps, axis=2) + place
    return np.rint(settings).astype(np.int64)


def evidence(study, reference):
    skipped = 1 if reference == "first" else 0
    readings = [[float(v) for v in block[skipped:]] for block in study.tolist()]
    return spread_evidence(readings, resolution=1.0, reference=reference)


@pytest.mark.parametrize(("shape", "skewness"), [(7.3, 1), (40.0, -1), (3e7, 1)])
def test_the_shifted_gamma_law_is_that_of_the_reference_library(shape, skewness):
    # scipy's gamma law, shifted to mean 2 and scaled to variance 9
    moments = Moments(2.0, 9.0, skewness * 2.0 / shape**0.5 * 27.0)
    for z in (-2.2, -0.3, 1.0, 2.9):
        law = stats.gamma(shape, loc=-(shape**0.5), scale=shape**-0.5)
        below = law.cdf(z) if skewness > 0 else law.sf(-z)
        found = gamma_law(2.0 + 3.0 * z, moments)
        assert found == pytest.approx((below, 1.0 - below), rel=1e-5, abs=1e-9)


def test_a_score_that_is_always_the_same_rules_nothing_out():
    assert gamma_law(0.0, Moments(0.0, 0.0, 0.0)) == (1.0, 1.0)


def test_many_at_once_are_what_each_is_at_a_sigma_far_from_theirs():
    drawn = studies(np.random.default_rng([SEED, 12]), "datum", (1, 12), 3.0, 0.3, 2000)
    many = ManyStudies(drawn, "datum")
    for at in (0.12, 0.19, 0.6, 20.0):
        narrow, wide = many.tails(at)
        for i in range(0, 2000, 200):
            found = tails(distinct_blocks(evidence(drawn[i], "datum").blocks), at, "datum")
            assert (narrow[i], wide[i]) == pytest.approx((found.narrow, found.wide), abs=5e-4)


@pytest.mark.parametrize(("blocks", "n"), [(1, 8), (4, 5)])
def test_far_above_a_resolution_the_tails_are_chi_square(blocks, n):
    rng = np.random.default_rng([SEED, n])
    readings = np.rint(rng.normal(0.0, 300.0, (blocks, n)))
    known = evidence(readings, "datum")
    squares = sum(np.var(block, ddof=1) for block in readings) * (n - 1)
    for sigma in (200.0, 300.0, 420.0):
        found = known.tails(sigma)
        exact = stats.chi2.cdf(squares / (sigma**2 + 1.0 / 12.0), blocks * (n - 1))  # scipy
        assert (found.narrow, 1.0 - found.wide) == pytest.approx((exact, exact), abs=2e-6)


@pytest.mark.parametrize("reference", ["datum", "first", "previous"])
@pytest.mark.parametrize("size", [(1, 3), (1, 12), (3, 6)])
def test_many_at_once_are_what_each_is_by_itself(reference, size):
    rng = np.random.default_rng([SEED, *size])
    for sigma in (0.3, 0.8, 3.0):
        drawn = studies(rng, reference, size, sigma, 0.3, 200)
        many = ManyStudies(drawn, reference)
        for at in (0.7 * sigma, 1.6 * sigma):
            narrow, wide = many.tails(at)
            for i in range(0, 200, 25):
                one = evidence(drawn[i], reference)
                found = tails(distinct_blocks(one.blocks), at, reference)
                assert (narrow[i], wide[i]) == pytest.approx((found.narrow, found.wide), abs=5e-4)


@pytest.mark.parametrize("sigma", [0.2, 0.9, 2.4, 30.0])
def test_scores_of_many_are_scores_of_one(sigma):
    rng = np.random.default_rng(SEED)
    rows = np.rint(rng.normal(0.2, sigma, (50, 7))).astype(np.int64)
    counts, which = count_rows(rows)
    found = scores(counts, 7, sigma)[which]
    for row, value in zip(rows.tolist(), found.tolist(), strict=True):
        block = count_bins([float(k) for k in row], resolution=1.0)
        assert value == pytest.approx(score([(block, 1)], sigma), rel=5e-4, abs=5e-4)
    squares = sums_of_squares(counts)[which]
    assert squares == pytest.approx(6.0 * np.var(rows, axis=1, ddof=1))


def test_the_table_is_what_its_command_makes():
    # other seeds, so within what chance allows; every frame, some cells
    rng = np.random.default_rng(SEED)
    for frame in FRAMES:
        for n, sigma, place in ((5, 0.3, 2), (12, 0.6, 4), (30, 1.0, 0)):
            assert n in SIZES
            assert sigma in SIGMAS
            mean, variance, third = moments_of(rng, frame, n, sigma, min(PLACES[place], 0.4999))
            known = block_moments(frame, n, sigma)[place]
            deviation = variance**0.5
            assert known.mean == pytest.approx(mean, abs=0.03 * deviation)
            assert known.variance == pytest.approx(variance, rel=0.06)
            assert known.third == pytest.approx(third, abs=0.25 * deviation**3)


def test_the_moments_of_points_are_those_of_a_sum_of_squares():
    # E. B. Wilson and M. M. Hilferty's chi-square has variance 2 f, third central moment 8 f
    (found,) = block_moments("mean", 9, 4.0)
    assert (found.mean, found.variance, found.third) == pytest.approx((0.0, 16.0, 64.0))
    (found,) = block_moments("differences", 9, 4.0)
    freedom = spread_freedom([9], "previous")
    assert found.mean == pytest.approx(freedom.scale * freedom.df - 8.0)


@pytest.mark.parametrize(
    ("reference", "size", "sigma", "place"),
    [
        ("datum", (1, 10), 0.4, 0.5),
        ("datum", (1, 4), 3.0, 0.2),
        ("datum", (1, 100), 0.3, 0.0),
        ("datum", (6, 6), 0.4, 0.5),
        ("first", (2, 6), 0.5, 0.49),
        ("previous", (1, 12), 0.8, 0.4),
    ],
)
def test_neither_tail_comes_more_often_than_it_says(reference, size, sigma, place):
    many = 2000
    rng = np.random.default_rng([SEED, *size])
    both = ManyStudies(studies(rng, reference, size, sigma, place, many), reference).tails(sigma)
    for risk in (0.05, 0.025, 0.005):
        slack = 3.5 * (risk * (1.0 - risk) / many) ** 0.5
        for tail in both:
            assert np.mean(tail <= risk) <= risk + slack
