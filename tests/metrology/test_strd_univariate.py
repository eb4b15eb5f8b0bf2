"""NIST StRD univariate sets: as many digits as the rounding of the input to double leaves.

Digits possible are worked out with mpmath: the exact mean and sd of the doubles that the decimals
become, against those of the decimals. Certified values: NIST, tests/data/strd_univariate.
"""

import json
import math
from pathlib import Path

import mpmath
import pytest

from hostctl.metrology.spread.sample import moments

DATA = Path(__file__).parents[1] / "data" / "strd_univariate"
CASES = json.loads((DATA / "certified.json").read_text(encoding="utf-8"))["cases"]
# From memory: NumAcc4's published description and certified values.
NUM_ACC_4 = ["10000000.2", *["10000000.1", "10000000.3"] * 500]
MOST_DIGITS = 15.95


def texts_of(name):
    if name == "NumAcc4":
        return NUM_ACC_4
    return (DATA / f"{name}.csv").read_text(encoding="utf-8").split()[1:]


def digits(value, truth):
    error = abs((mpmath.mpf(value) - truth) / truth)
    return MOST_DIGITS if error == 0 else min(MOST_DIGITS, float(-mpmath.log10(error)))


def exact_moments(numbers):
    mean = mpmath.fsum(numbers) / len(numbers)
    squares = mpmath.fsum([(number - mean) ** 2 for number in numbers])
    return mean, mpmath.sqrt(squares / (len(numbers) - 1))


@pytest.mark.parametrize("name", [*CASES, "NumAcc4"])
def test_every_digit_that_the_doubles_hold_is_reached(name, capsys):
    texts = texts_of(name)
    ours = moments([float(text) for text in texts])
    with mpmath.workdps(60):
        truth = exact_moments([mpmath.mpf(text) for text in texts])
        of_doubles = exact_moments([mpmath.mpf(float(text)) for text in texts])
        reached = [digits(ours.mean, truth[0]), digits(ours.sd, truth[1])]
        possible = [digits(best, true) for best, true in zip(of_doubles, truth, strict=True)]
        lost = [digits(ours.mean, of_doubles[0]), digits(ours.sd, of_doubles[1])]
    with capsys.disabled():
        print(f"\nStRD {name}, digits reached (possible):", end="")
        print(f" mean {reached[0]:.1f} ({possible[0]:.1f}), sd {reached[1]:.1f} ", end="")
        print(f"({possible[1]:.1f})", end=" ")
    assert min(lost) > 15.3
    assert reached[0] > min(possible[0], 15.3) - 0.3
    assert reached[1] > min(possible[1], 15.3) - 0.3


@pytest.mark.parametrize("name", CASES)
def test_the_certified_value_is_met_to_its_printed_digits(name):
    certified = CASES[name]["certified"]
    ours = moments([float(text) for text in texts_of(name)])
    assert ours.mean == pytest.approx(float(certified["mean"]), rel=2e-15)
    possible = 1e-8 if name == "NumAcc3" else 2e-13
    assert math.isclose(ours.sd, float(certified["sd_n_minus_1"]), rel_tol=possible)
