"""Least squares against NIST StRD: digits reached, and digits possible after rounding to double."""

import csv
import json
from pathlib import Path

import mpmath
import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.oddities.regression import Fit, least_squares

DATA = Path(__file__).parents[1] / "data" / "strd_regression"
CASES = json.loads((DATA / "certified.json").read_text())["cases"]


def table(case: str) -> list[list[float]]:
    """Rows of y, x1, x2, ...; Pontius gets its square, which a double holds exactly."""
    match case:
        case "Norris":
            lines = (DATA / "Norris.dat").read_text().splitlines()[60:96]
            return [[float(word) for word in line.split()] for line in lines]
        case "Pontius":
            return [[y, x, x * x] for y, x in rows("Pontius.csv")]
        case _:
            return rows("Longley.csv")


def rows(name: str) -> list[list[float]]:
    with (DATA / name).open() as file:
        return [[float(word) for word in row] for row in list(csv.reader(file))[1:]]


def exact(data: list[list[float]]) -> list[mpmath.mpf]:
    """Coefficients, their standard errors and the residual standard deviation."""
    with mpmath.workdps(60):
        x = mpmath.matrix([[1, *row[1:]] for row in data])
        y = mpmath.matrix([row[0] for row in data])
        inverse = (x.T * x) ** -1
        coefficients = inverse * (x.T * y)
        residuals = y - x * coefficients
        variance = (residuals.T * residuals)[0] / (len(data) - x.cols)
        errors = [mpmath.sqrt(variance * inverse[i, i]) for i in range(x.cols)]
        return [*coefficients, *errors, mpmath.sqrt(variance)]


def reached(fit: Fit) -> list[float]:
    return [*fit.coefficients, *fit.standard_errors, fit.residual_sd]


def certified(case: str) -> list[str]:
    values = CASES[case]["recomputed_mpmath"]
    return [*values["coefficients"], *values["standard_errors"], values["residual_sd"]]


def digits(value: float | mpmath.mpf, truth: str) -> float:
    with mpmath.workdps(60):
        error = abs(mpmath.mpf(value) / mpmath.mpf(truth) - 1)
        return min(15.0, float(-mpmath.log10(error))) if error else 15.0


def fit(case: str) -> Fit:
    y, *columns = zip(*table(case), strict=True)
    return least_squares(y, *columns)


@pytest.mark.parametrize("case", CASES)
def test_as_many_digits_as_the_rounding_of_the_input_leaves(case, capsys):
    truth = certified(case)
    got = [digits(value, t) for value, t in zip(reached(fit(case)), truth, strict=True)]
    best = [digits(value, t) for value, t in zip(exact(table(case)), truth, strict=True)]
    with capsys.disabled():
        print(f"\nStRD {case}, digits reached (possible): coefficients, errors, residual sd:")
        print(*(f" {a:.1f} ({b:.1f})" for a, b in zip(got, best, strict=True)), end=" ")
    assert min(got) >= 13
    assert all(a >= b - 0.2 for a, b in zip(got, best, strict=True))


@pytest.mark.parametrize("case", CASES)
def test_r_squared_is_the_certified_one(case):
    truth = float(CASES[case]["certified"]["r_squared"])  # NIST StRD
    assert fit(case).r_squared == pytest.approx(truth, rel=1e-13)


def test_a_coefficient_has_the_t_interval_and_p_value_of_the_reference_library():
    """scipy.stats.linregress and t, on Norris."""
    y, x = zip(*table("Norris"), strict=True)
    oracle, got = stats.linregress(x, y), fit("Norris")
    reach = stats.t.ppf(0.95, len(y) - 2) * oracle.stderr
    slope = got.coefficient(1, 0.9)
    expected = (oracle.slope, oracle.slope - reach, oracle.slope + reach)
    assert (slope.value, slope.low, slope.high) == pytest.approx(expected, rel=1e-9)
    assert slope.n == len(y)
    start = got.coefficients[0] / got.standard_errors[0]
    assert got.p_value(0) == pytest.approx(2 * stats.t.sf(abs(start), len(y) - 2), rel=1e-9)


def test_a_column_made_of_others_is_refused():
    x = np.arange(10.0)
    with pytest.raises(NotEnough, match="made up of others"):
        least_squares(x**2, x, 2 * x + 1)


def test_a_column_that_never_changes_is_refused():
    with pytest.raises(NotEnough, match="never changes"):
        least_squares([1.0, 2.0, 4.0], [5.0, 5.0, 5.0])


def test_an_exact_line_has_no_scatter():
    line = least_squares([1.0, 3.0, 5.0, 7.0], [0.0, 1.0, 2.0, 3.0])
    assert line.coefficients == (1.0, 2.0)
    assert line.residual_sd == pytest.approx(0.0, abs=1e-30)
