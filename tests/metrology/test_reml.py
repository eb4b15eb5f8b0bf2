"""Restricted maximum likelihood: against balanced tables, and against an independent maximiser."""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy import optimize, stats

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.components.crossed_cells import label_codes
from hostctl.metrology.components.gauge_study import gauge_study
from hostctl.metrology.components.reml import RemlFit, combined_levels, reml

DATA = Path(__file__).parents[1] / "data" / "gauge_studies"
with (DATA / "ten_parts_three_appraisers.csv").open() as file:
    ROWS = list(csv.DictReader(file))
PART = label_codes([row["part"] for row in ROWS])[0]
APPRAISER = label_codes([row["appraiser"] for row in ROWS])[0]
VALUE = np.array([float(row["value"]) for row in ROWS])
SEED = 31

# Davies and Goldsmith 1972, Statistical Methods in Research and Production, table 6.1: yield of
# dyestuff, six batches of five (g); batch variance 1764, residual 2451 (from memory)
DYESTUFF = [
    [1545, 1440, 1440, 1520, 1580],
    [1540, 1555, 1490, 1560, 1495],
    [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545],
    [1595, 1630, 1515, 1635, 1625],
    [1520, 1455, 1450, 1480, 1445],
]


def crossed(keep: np.ndarray) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    part, appraiser = PART[keep], APPRAISER[keep]
    effects = {
        "part": part,
        "operator": appraiser,
        "interaction": combined_levels(part, appraiser),
    }
    return VALUE[keep], effects


def independent_maximum(y: np.ndarray, effects: dict[str, np.ndarray]) -> tuple[float, np.ndarray]:
    """The restricted likelihood with the whole n x n matrix, maximised by scipy."""
    alike = [levels[:, None] == levels[None, :] for levels in effects.values()]
    contrasts = np.linalg.svd(np.ones((1, y.size)))[2][1:]

    def minus_log_likelihood(root: np.ndarray) -> float:
        v = sum(r**2 * a for r, a in zip(root, [*alike, np.eye(y.size)], strict=True))
        return -stats.multivariate_normal.logpdf(
            contrasts @ y, cov=contrasts @ v @ contrasts.T, allow_singular=False
        )

    start = np.full(len(alike) + 1, y.std() / 2)
    best = optimize.minimize(minus_log_likelihood, start, method="L-BFGS-B", tol=1e-14)
    return best.fun, np.abs(best.x)


def test_a_published_balanced_example():
    y = np.array(DYESTUFF, dtype=float).ravel()
    fit = reml(y, {"batch": np.repeat(np.arange(6), 5)})
    assert fit.variances == pytest.approx((1764.05, 2451.25), abs=5e-3)


def test_on_the_full_table_it_is_the_analysis_of_variance():
    # AIAG MSA, 4th ed., III B: 0.199933, 0.226838, 1.042327 with the interaction at zero
    fit = reml(*crossed(np.ones(90, dtype=bool)))
    sds = [fit.spread_of(name).value for name in ("residual", "operator", "interaction", "part")]
    assert sds == pytest.approx([0.199933, 0.226838, 0.0, 1.042327], abs=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("gap", [3, 7])
def test_with_gaps_it_is_the_independent_maximum(gap):
    y, effects = crossed(np.arange(90) % gap != 1)
    fit = reml(y, effects)
    _, roots = independent_maximum(y, effects)
    assert np.sqrt(fit.variances) == pytest.approx(roots, abs=3e-4)


@pytest.mark.slow
def test_an_interaction_that_is_there_is_found_as_by_the_independent_maximiser():
    rng = np.random.default_rng(SEED)
    y, effects = crossed(np.arange(90) % 4 != 1)
    y = y + rng.normal(0, 0.5, 30)[effects["interaction"]]
    fit = reml(y, effects)
    _, roots = independent_maximum(y, effects)
    assert fit.variance_of("interaction") > 0.05
    assert np.sqrt(fit.variances) == pytest.approx(roots, abs=3e-4)


def test_the_likelihood_of_the_cells_is_that_of_the_rows():
    y, effects = crossed(np.arange(90) % 5 != 1)
    fit = reml(y, effects)
    alike = [levels[:, None] == levels[None, :] for levels in effects.values()]
    contrasts = np.linalg.svd(np.ones((1, y.size)))[2][1:]

    def of_rows(variances: list[float]) -> float:
        v = sum(s * a for s, a in zip(variances, [*alike, np.eye(y.size)], strict=True))
        law = stats.multivariate_normal(cov=contrasts @ v @ contrasts.T)
        return float(law.logpdf(contrasts @ y))

    one, other = [1.0, 0.05, 0.01, 0.04], [0.3, 0.5, 0.2, 0.1]
    fall = fit.cells.log_likelihood(np.array(one)) - fit.cells.log_likelihood(np.array(other))
    assert fall == pytest.approx(of_rows(one) - of_rows(other), rel=1e-9)


def test_the_slope_and_the_information_are_those_of_the_rows():
    """Searle, Casella, McCulloch 1992, 6.6: with the whole n x n matrix; slope by differences."""
    y, effects = crossed(np.arange(90) % 5 != 1)
    boiled = reml(y, effects).cells
    at = np.array([1.0, 0.05, 0.01, 0.04])
    slope, information = boiled.score_and_information(at)
    numeric = optimize.approx_fprime(at, boiled.log_likelihood, 1e-7)
    assert slope == pytest.approx(numeric, rel=1e-4)
    alike = [*(e[:, None] == e[None, :] for e in effects.values()), np.eye(y.size)]
    inverse = np.linalg.inv(sum(s * a for s, a in zip(at, alike, strict=True)))
    ones = inverse.sum(axis=1)
    projection = inverse - np.outer(ones, ones) / ones.sum()
    parts = [projection @ a for a in alike]
    expected = [[0.5 * np.trace(p @ q) for q in parts] for p in parts]
    assert information == pytest.approx(np.array(expected), rel=1e-8)


def test_one_effect_nested_in_another():
    rng = np.random.default_rng(SEED)
    point = np.repeat(np.arange(6), 8)
    operator = np.repeat(np.arange(12), 4)
    y = rng.normal(0, 2, 6)[point] + rng.normal(0, 1, 12)[operator] + rng.normal(0, 0.5, 48)
    keep = np.arange(48) % 9 != 2
    effects = {"point": point[keep], "operator": operator[keep]}
    fit = reml(y[keep], effects)
    _, roots = independent_maximum(y[keep], effects)
    assert np.sqrt(fit.variances) == pytest.approx(roots, abs=3e-4)
    study = gauge_study(point[keep].tolist(), operator[keep].tolist(), y[keep])
    assert study.says == Reason(Why.BY_LIKELIHOOD, nested=True)
    assert study.figures.av == pytest.approx(np.sqrt(fit.variance_of("operator")))


def test_skipped_trials_send_a_study_to_reml():
    keep = np.arange(90) % 7 != 3
    study = gauge_study(PART[keep].tolist(), APPRAISER[keep].tolist(), VALUE[keep])
    assert study.says == Reason(Why.BY_LIKELIHOOD, nested=False)
    assert study.figures.pv == pytest.approx(1.05, abs=0.01)
    assert study.components.interaction.high > 0.0
    grr = study.components.grr
    assert grr.low < grr.value < grr.high


def test_a_missing_cell_is_no_obstacle():
    keep = ~((PART == 2) & (APPRAISER == 1))
    found = gauge_study(PART[keep].tolist(), APPRAISER[keep].tolist(), VALUE[keep])
    assert found.says == Reason(Why.BY_LIKELIHOOD, nested=False)


def test_the_residuals_interval_is_chi_square_where_nothing_else_matters():
    fit = reml(VALUE, {"part": PART})
    residual = fit.spread_of("residual")
    df, s2 = 80, fit.variance_of("residual")
    exact = np.sqrt(df * s2 / stats.chi2.ppf([0.975, 0.025], df))
    assert (residual.low, residual.high) == pytest.approx(tuple(exact), rel=1e-6)


SMALL = [(seed, pool) for seed in (*range(6), *range(7, 12)) for pool in (0.25, 1.0)]


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "pool_above"), SMALL)
def test_every_figure_lies_in_its_own_interval_however_small_the_table(seed, pool_above):
    """Two to four points, two or three operators, some trials skipped, no effect but the scatter.

    A component near zero is worth a small part of a degree of freedom: chi-square limits on that
    ran to 1e152, and their lower end beyond the figure.
    """
    rng = np.random.default_rng([SEED, 2, seed])
    part, operator, _ = np.indices((2 + seed % 3, 2 + seed % 2, 1 + seed % 3)).reshape(3, -1)
    keep = rng.random(part.size) < (1.0 if seed % 4 == 0 else 0.9)
    y = np.round(rng.normal(0, 1, part.size), 1)[keep]
    found = gauge_study(
        part[keep].tolist(), operator[keep].tolist(), y, pool_above=pool_above
    ).components
    figures = [found.repeatability, found.operator, found.part, found.grr, found.total]
    figures += [found.interaction] if found.interaction else []
    assert all(f.low <= f.value <= f.high < 200 * np.ptp(y) for f in figures)


def test_a_table_told_exactly_by_its_effects_is_refused():
    """Four readings that points and operators add up to: the likelihood has no top."""
    with pytest.raises(NotEnough, match=Why.REML_TOLD_EXACTLY):
        gauge_study(["p", "p", "q", "q"], ["a", "b", "a", "c"], [-1.5, -2.3, -3.2, -4.8])
    repeated = [-1.0, -1.0, 1.0, 1.0, 1.0, 1.0, -1.0, 2.0]
    with pytest.raises(NotEnough, match=Why.REML_TOLD_EXACTLY):
        gauge_study(["p"] * 4 + ["q"] * 4, ["a", "a", "b", "b", "a", "a", "b", "c"], repeated)


def fits(runs: int) -> list[RemlFit]:
    rng = np.random.default_rng([SEED, 1])
    group = np.repeat(np.arange(12), [2, 3, 4, 5, 3, 2, 4, 5, 3, 4, 2, 5])
    return [
        reml(rng.normal(0, 1, 12)[group] + rng.normal(0, 1, group.size), {"group": group})
        for _ in range(runs)
    ]


@pytest.mark.slow
def test_intervals_cover_in_an_unbalanced_table():
    found = fits(200)
    residual = np.mean([1.0 in fit.spread_of("residual").interval for fit in found])
    group = np.mean([1.0 in fit.spread_of("group").interval for fit in found])
    assert residual >= 0.95 - 3 * 0.0154
    assert group >= 0.95 - 3 * 0.0154


@pytest.mark.parametrize(
    ("values", "effects", "says"),
    [
        ([], {"a": np.array([], dtype=int)}, Why.TOO_FEW),
        ([1.0, 2.0, np.nan], {"a": np.array([0, 1, 1])}, Why.NOT_A_NUMBER),
        ([1.0, 2.0, 3.0], {"a": np.array([0, 0, 0])}, Why.REML_ONE_LEVEL),
        ([1.0, 2.0, 3.0], {"a": np.array([0, 1])}, "2 levels for 3"),
        ([1.0, 2.0, 3.0], {}, "no effect"),
        ([0.1, 0.1, 0.1, 0.1], {"a": np.array([0, 0, 1, 1])}, Why.REML_ALL_ALIKE),
        ([1.0, 2.0, 3.0, 5.0], {"a": np.arange(4)}, Why.REML_TOLD_EXACTLY),
        (
            [1.0, 2.0, 4.0, 7.0],
            {"a": np.arange(4) // 2, "b": np.arange(4) // 2},
            Why.REML_NOT_TOLD_APART,
        ),
        (np.arange(700.0) ** 2, {"a": np.arange(700)}, f"{Why.REML_TOO_MANY_CELLS} most=600"),
    ],
)
def test_what_cannot_be_fitted_is_refused_with_a_reason(values, effects, says):
    with pytest.raises(ValueError, match=says):
        reml(values, effects)


def test_nested_operators_need_repeated_trials():
    with pytest.raises(NotEnough, match=Why.NESTED_WITHOUT_REPEATS):
        gauge_study(["p", "p", "q", "q"], ["a", "b", "c", "d"], [1.0, 2.0, 3.0, 5.0])
