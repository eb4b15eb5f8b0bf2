"""Repeatability and reproducibility between laboratories, that is, hands or machines."""

import csv
import json
from pathlib import Path

import pytest

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.components.interlab import (
    Precision,
    cochran_limit,
    mandel_h_limit,
    mandel_k_limit,
    precision,
)

DATA = Path(__file__).parents[1] / "data" / "interlab"
COAL = json.loads((DATA / "sulfur_in_coal.json").read_text())
PENTOSANS = json.loads((DATA / "pentosans.json").read_text())["recomputed"]


def levels(name: str, level: str) -> dict[str, dict[str, list[float]]]:
    gathered: dict[str, dict[str, list[float]]] = {}
    with (DATA / name).open() as file:
        for row in csv.DictReader(file):
            by_laboratory = gathered.setdefault(row[level], {})
            by_laboratory.setdefault(row["laboratory"], []).append(float(row["value"]))
    return gathered


COAL_LEVELS = levels("sulfur_in_coal.csv", "level")
MATERIALS = levels("pentosans.csv", "material")


@pytest.mark.parametrize("level", COAL_LEVELS)
def test_sulfur_in_coal(level):
    # ISO 5725-2:1994, annex B, first example (from memory): m, s_r, s_R to three decimals
    result = precision(COAL_LEVELS[level])
    published, recomputed = COAL["published"][level], COAL["recomputed"][level]
    figures = {"m": result.mean, "s_r": result.s_r, "s_R": result.s_R}
    assert figures == pytest.approx(published, abs=5e-4)
    assert result.s_l == pytest.approx(recomputed["s_L"], rel=1e-9)
    assert result.cochran == pytest.approx(recomputed["cochran_C"], rel=1e-9)
    assert result.repeatability_limit == pytest.approx(recomputed["repeatability_limit_2_8"])
    assert result.reproducibility_limit == pytest.approx(recomputed["reproducibility_limit_2_8"])


@pytest.mark.parametrize("level", COAL_LEVELS)
def test_mandels_h_at_its_ends_is_grubbs_statistic_of_the_cell_means(level):
    recomputed = COAL["recomputed"][level]
    h = precision(COAL_LEVELS[level]).h
    assert max(h) == pytest.approx(recomputed["grubbs_high"], rel=1e-9)
    assert -min(h) == pytest.approx(recomputed["grubbs_low"], rel=1e-9)


def compared(result: Precision) -> dict[str, float]:
    return {
        "mean": result.mean,
        "s_r": result.s_r,
        "s_L": result.s_l,
        "s_R": result.s_R,
        "cochran_C": result.cochran,
    }


@pytest.mark.parametrize("material", MATERIALS)
def test_pentosans_with_mandels_h_and_k(material):
    # ASTM E691 example, Mandel 1991 p. 6; figures recomputed independently
    result, expected = precision(MATERIALS[material]), PENTOSANS[material]
    got = compared(result)
    assert got == pytest.approx({name: expected[name] for name in got}, rel=1e-9)
    assert result.h == pytest.approx(expected["h"], abs=1e-9)
    assert result.k == pytest.approx(expected["k"], abs=1e-9)


with (DATA / "cochran_c_critical.csv").open() as file:
    TABLE = [[float(word) for word in row] for row in list(csv.reader(file))[1:]]


@pytest.mark.parametrize(("groups", "n", "five", "one"), TABLE[::9])
def test_cochrans_limits_are_those_of_the_table(groups, n, five, one):
    assert cochran_limit(int(groups), int(n), 0.05) == pytest.approx(five, rel=1e-7)
    assert cochran_limit(int(groups), int(n), 0.01) == pytest.approx(one, rel=1e-7)


def test_cochrans_limit_in_print():
    # ISO 5725-2:1994, table 4 (from memory): p = 8, n = 3: 0.516 and 0.615
    assert cochran_limit(8, 3) == pytest.approx(0.516, abs=5e-4)
    assert cochran_limit(8, 3, 0.01) == pytest.approx(0.615, abs=5e-4)


def test_mandels_limits_in_print():
    # ISO 5725-2:1994, 8.3, 5 % (from memory): p = 8, h 1.75; p = 3, h 1.15
    assert mandel_h_limit(8) == pytest.approx(1.75, abs=5e-3)
    assert mandel_h_limit(3) == pytest.approx(1.15, abs=5e-3)


@pytest.mark.parametrize(
    ("laboratories", "h", "k_of_2", "k_of_3"),
    [
        (3, 1.15, 1.72, 1.67),
        (4, 1.49, 1.95, 1.82),
        (5, 1.74, 2.11, 1.92),
        (6, 1.92, 2.22, 1.98),
        (7, 2.05, 2.30, 2.03),
        (8, 2.15, 2.36, 2.06),
    ],
)
def test_mandels_limits_at_half_a_per_cent_in_print(laboratories, h, k_of_2, k_of_3):
    """ASTM E691, table of critical values of h and k at 0.5 % (from memory)."""
    got = (
        mandel_h_limit(laboratories, 0.005),
        mandel_k_limit(laboratories, 2, 0.005),
        mandel_k_limit(laboratories, 3, 0.005),
    )
    assert got == pytest.approx((h, k_of_2, k_of_3), abs=5.1e-3)


def test_mandels_k_at_its_limit_is_cochrans_with_one_laboratory_in_mind():
    # k^2 = p C: with all of alpha on one laboratory, the two limits are the same law
    assert mandel_k_limit(8, 3, alpha=0.05 / 8) ** 2 == pytest.approx(8 * cochran_limit(8, 3))


def test_laboratories_that_agree_have_no_spread_between_them():
    result = precision({"a": [1.0, 3.0], "b": [3.0, 1.0]})
    assert (result.s_l, result.s_R) == (0.0, result.s_r)
    assert isinstance(result.h, NotYet)


def test_readings_all_alike_get_a_reason():
    result = precision({"a": [0.1, 0.1, 0.1], "b": [0.3, 0.3, 0.3]})
    assert result.s_r == 0.0
    assert isinstance(result.k, NotYet)
    assert isinstance(result.cochran, NotYet)


@pytest.mark.parametrize(
    "bad",
    [
        {},
        {"a": [1.0, 2.0]},
        {"a": [1.0, 2.0], "b": [1.0]},
        {"a": [1.0, 2.0], "b": [1.0, float("nan")]},
    ],
)
def test_what_cannot_be_compared_is_refused(bad):
    with pytest.raises(NotEnough):
        precision(bad)


def test_limits_need_two_laboratories():
    with pytest.raises(NotEnough):
        cochran_limit(1, 3)
    with pytest.raises(NotEnough):
        mandel_h_limit(2)
    with pytest.raises(NotEnough):
        mandel_k_limit(5, 1)
