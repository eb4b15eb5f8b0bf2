"""One-way analysis of variance against NIST StRD: digits reached, and digits possible.

Possible is what the same formula gives in exact arithmetic (mpmath) on the data once rounded to
double precision: SmLs04 to SmLs08 lose 5 to 11 digits by that rounding alone.
"""

import json
from pathlib import Path

import mpmath
import pytest

from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.components.anova import OneWay, one_way

DATA = Path(__file__).parents[1] / "data" / "strd_anova"
CASES = json.loads((DATA / "certified.json").read_text())["cases"]
EASY = ("SiRstv", "SmLs01", "SmLs02", "SmLs03")
QUANTITIES = ("ss_between", "ss_within", "F")


def groups_of(case: str) -> list[list[float]]:
    groups: dict[str, list[float]] = {}
    for line in (DATA / CASES[case]["file"]).read_text().splitlines()[60:]:
        group, value = line.split()
        groups.setdefault(group, []).append(float(value))
    return list(groups.values())


def exact(groups: list[list[float]]) -> dict[str, mpmath.mpf]:
    with mpmath.workdps(60):
        exactly = [[mpmath.mpf(value) for value in group] for group in groups]
        n = sum(len(group) for group in exactly)
        means = [mpmath.fsum(group) / len(group) for group in exactly]
        grand = mpmath.fsum(mpmath.fsum(group) for group in exactly) / n
        pairs = list(zip(exactly, means, strict=True))
        between = mpmath.fsum(len(group) * (mean - grand) ** 2 for group, mean in pairs)
        within = mpmath.fsum((value - mean) ** 2 for group, mean in pairs for value in group)
        ratio = between / (len(groups) - 1) / (within / (n - len(groups)))
        return {"ss_between": between, "ss_within": within, "F": ratio}


def reached(result: OneWay) -> dict[str, float]:
    assert isinstance(result.test, Significance)
    return {
        "ss_between": result.between.ss,
        "ss_within": result.within.ss,
        "F": result.test.statistic,
    }


def digits(value: float | mpmath.mpf, certified: str) -> float:
    with mpmath.workdps(60):
        error = abs(mpmath.mpf(value) / mpmath.mpf(certified) - 1)
        return min(15.0, float(-mpmath.log10(error))) if error else 15.0


@pytest.mark.parametrize("case", CASES)
def test_as_many_digits_as_the_rounding_of_the_input_leaves(case, capsys):
    groups = groups_of(case)
    certified = CASES[case]["recomputed_mpmath"]
    got, best = reached(one_way(groups)), exact(groups)
    table = {q: (digits(got[q], certified[q]), digits(best[q], certified[q])) for q in QUANTITIES}
    with capsys.disabled():
        print(f"\nStRD {case}, digits reached (possible):", end="")
        print(*(f" {q} {a:.1f} ({b:.1f})" for q, (a, b) in table.items()), end=" ")
    assert all(a >= b - 0.2 for a, b in table.values())


@pytest.mark.parametrize("case", CASES)
def test_the_arithmetic_itself_loses_nothing(case):
    groups = groups_of(case)
    best = {name: float(value) for name, value in exact(groups).items()}
    assert reached(one_way(groups)) == pytest.approx(best, rel=1e-14)


@pytest.mark.parametrize("case", EASY)
def test_the_easy_sets_give_13_digits_and_more(case):
    certified = CASES[case]["recomputed_mpmath"]
    got = reached(one_way(groups_of(case)))
    assert min(digits(got[q], certified[q]) for q in QUANTITIES) >= 13


def test_the_residual_sd_follows():
    certified = CASES["SiRstv"]["certified"]  # NIST StRD, SiRstv.dat
    result = one_way(groups_of("SiRstv"))
    assert result.residual_sd == pytest.approx(float(certified["residual_sd"]), rel=1e-13)
