"""The committed table of what is promised: made by this code, and nothing in it fails."""

import numpy as np
import pytest
from promised import laws, ratios, settings, spreads
from promised.cells import LIMITS, Rate, judged
from promised.page import PAGE, PARTS, law_line, line_of, width_line
from promised.studies import Shape
from promised.widths import cells as cells_of_width
from promised.widths import widths_of

LINES = PAGE.read_text(encoding="utf-8").splitlines()


def cell_of(part, *label):
    return next(cell for cell in part.CELLS if cell.label == label)


def test_nothing_in_the_committed_table_fails():
    assert [line for line in LINES if line.startswith("|") and "**" in line] == []


def test_every_cell_is_in_the_committed_table():
    starts = [f"| {' | '.join(cell.label)} |" for part in PARTS for cell in part.cells]
    assert [start for start in starts if not any(line.startswith(start) for line in LINES)] == []


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "part", "label"),
    [
        ("spread", spreads, ("datum", "4", "0.5")),
        ("spread", spreads, ("previous", "5", "0.7")),
        ("ratio", ratios, ("datum", "3 : 3", "0.2", "1", "-")),
    ],
)
def test_a_cell_simulated_again_is_what_was_committed(name, part, label):
    row = judged(name, cell_of(part, *label))
    statements = [rate.statement for rate in row.rates]
    assert line_of(row, [one for one in LIMITS if one in statements]) in LINES


@pytest.mark.slow
def test_laws_simulated_again_are_what_was_committed():
    assert {law_line(row) for row in laws.rows_of(12, laws.STUDIES)} <= {*LINES}


@pytest.mark.slow
def test_a_width_found_again_is_what_was_committed():
    cell = next(one for one in cells_of_width() if one.label == ("datum", "4", "1"))
    assert width_line(widths_of([cell])[0]) in LINES


@pytest.mark.slow
@pytest.mark.parametrize(
    ("part", "label"),
    [
        (spreads, ("bezel", "3 x 4", "0.7")),
        (settings, ("12", "0.7", "12", "0.7")),
        (settings, ("6", "0", "12", "1")),
        (ratios, ("datum", "6 : 12", "1", "1.5", "-")),
        (ratios, ("datum", "12 : 12", "0.4", "3", "12, 0.4")),
    ],
)
def test_all_studies_at_once_come_out_as_one_by_one(part, label):
    assert judged("a test", cell_of(part, *label), studies=100).apart == 0


@pytest.mark.parametrize(
    ("wrong", "fails"),
    [(0.0576, False), (0.0577, True)],  # 5 % and 3.5 times the root of 0.05 x 0.95 / 10,000
)
def test_what_misses_its_limit_by_more_than_chance_does_fails(wrong, fails):
    assert Rate("meets", 0.01, wrong, ((0.0,),), 10_000).fails == fails
    assert Rate("meets", wrong, 0.01, ((0.0,),), 10_000).fails == fails


@pytest.mark.parametrize(
    ("zero", "frozen"), [("bezel", True), ("subtracted", True), ("datum", False)]
)
def test_a_first_setting_is_read_as_zero(zero, frozen):
    read = Shape(6, 2, zero).read(np.random.default_rng(1), 1.5, [None] * 50)
    assert read.shape == (50, 2, 6)
    assert bool((read[:, :, 0] == 0).all()) == frozen
