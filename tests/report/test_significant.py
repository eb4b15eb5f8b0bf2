"""Numbers as printed: two significant digits of an uncertainty (JCGM 100:2008, 7.2.6)."""

import math

import pytest

from hostctl.report.document.significant import (
    beside,
    chance,
    percent,
    short_number,
    significant,
    whole,
)


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.006249, 2, "0.0062"),
        (0.0999, 2, "0.10"),
        (1.049, 2, "1.0"),
        (12.34, 2, "12"),
        (99.4, 2, "99"),
        (123.4, 2, "123"),  # no digit before the point is made a 0
        (0.0, 2, "0.00"),
        (-0.5, 1, "\N{MINUS SIGN}0.5"),
        (2.5e-9, 2, "2.5e\N{MINUS SIGN}09"),
        (1e-6, 2, "0.0000010"),
        (math.inf, 2, "∞"),
    ],
)
def test_a_value_has_so_many_significant_digits(value: float, digits: int, text: str):
    assert significant(value, digits) == text


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [
        (100.021_47, 0.000_35, "100.02147"),  # 7.2.2: m = 100.021 47 g, u = 0.35 mg
        (1.2345, 0.27, "1.23"),
        (-0.0001, 0.1, "0.00"),  # no minus before a zero
        (5.0, 0.0, "5.00"),
        (10.4, 31.0, "10"),
    ],
)
def test_a_value_ends_where_its_uncertainty_does(value: float, u: float, text: str):
    assert beside(value, u) == text


def test_a_sign_is_shown_where_it_is_asked_for():
    assert beside(0.5, 0.1, sign=True) == "+0.50"
    assert beside(-0.5, 0.1, sign=True) == "\N{MINUS SIGN}0.50"


def test_short_numbers_shares_and_counts():
    assert [short_number(v) for v in (0.25, 1.0, 33.333, 0.0001234)] == [
        *("0.25", "1", "33.3", "0.000123"),
    ]
    assert (percent(0.426), chance(0.999), whole(88.0), whole(math.inf)) == (
        *("43 %", "99.9 %", "88", "∞"),
    )
