"""What a person types as a reading."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from hostctl.channels.typed_reading import reading_mm
from hostctl.channels.view.simulated import simulated
from hostctl.deeds import ReadIndicator
from hostctl.news import Prompt
from hostctl.report.document.significant import in_mm


def prompt(*, graduations: bool = False) -> Prompt:
    return Prompt(
        prompt_id="p",
        deed=ReadIndicator(),
        text="Read.",
        detail="",
        moves_next="",
        place=None,
        opened_at=datetime(2026, 11, 25, tzinfo=UTC),
        resolution_mm=0.01,
        typed_in_graduations=graduations,
    )


@pytest.mark.parametrize(
    ("typed", "value_mm"),
    [
        ("0.02", 0.02),
        ("-0.01", -0.01),
        ("+0.03", 0.03),
        ("0,02", 0.02),
        ("-0,02", -0.02),
        ("+0,02", 0.02),
        ("-.02", -0.02),
        ("-,5", -0.5),
        ("-0,", 0.0),
        (".5", 0.5),
        ("2", 2.0),
        ("2.", 2.0),
        ("−0.04", -0.04),
        ("–0.04", -0.04),
        (" 0.02 ", 0.02),
        ("0.02 mm", 0.02),
        ("−0,02mm", -0.02),
    ],
)
def test_a_number_is_read_with_point_or_comma(typed: str, value_mm: float):
    assert reading_mm(typed, prompt()) == value_mm


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "-",
        ".",
        "1e3",
        "\uff10.\uff10\uff12",  # fullwidth digits
        "0.0\uff12",
        "\u0663",  # an Arabic-Indic three
        "nan",
        "inf",
        "0.0.2",
        "1,000.5",
        "--1",
        "0x1",
        "1234",
        "mm",
        "1 m",
    ],
)
def test_anything_else_is_no_reading(typed: str):
    assert reading_mm(typed, prompt()) is None


def test_a_length_with_its_unit_is_no_count_of_graduations():
    assert reading_mm("0.02 mm", prompt(graduations=True)) == 0.02


@pytest.mark.parametrize(("typed", "value_mm"), [("2", 0.02), ("-1", -0.01), ("0.5", 0.005)])
def test_graduations_are_turned_into_mm(typed: str, value_mm: float):
    assert reading_mm(typed, prompt(graduations=True)) == value_mm


@pytest.mark.parametrize(
    ("value_mm", "resolution_mm", "text"),
    [
        (0.02, 0.01, "+0.02"),
        (-0.02, 0.01, "−0.02"),
        (0.0, 0.01, "0.00"),
        (-0.001, 0.01, "0.00"),
        (0.0025, 0.0025, "+0.0025"),
        (0.015, 0.005, "+0.015"),
        (1.0, 1.0, "+1"),
        (0.01, None, "+0.010"),
    ],
)
def test_a_reading_is_shown_with_the_decimals_of_its_resolution(
    value_mm: float, resolution_mm: float | None, text: str
):
    assert in_mm(value_mm, resolution_mm) == text


@pytest.mark.parametrize(
    ("value_mm", "graduations", "shown"),
    [
        (None, False, ""),
        (0.5, False, "Simulated indicator: +0.50 mm"),
        (0.0, False, "Simulated indicator: 0.00 mm"),
        (-0.03, True, "Simulated indicator: -3 graduations"),
        (0.07, True, "Simulated indicator: +7 graduations"),
    ],
)
def test_a_simulated_indicator_is_shown_as_it_would_be_typed(
    value_mm: float | None, graduations: bool, shown: str
):
    asked = replace(prompt(graduations=graduations), simulated_indicator_mm=value_mm)
    assert simulated(asked) == shown
    if value_mm is not None:
        assert reading_mm(shown.split()[2], asked) == value_mm
