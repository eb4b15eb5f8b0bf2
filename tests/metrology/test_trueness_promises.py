"""The committed table of what is said of the true gap: made by this code, and nothing fails."""

from dataclasses import replace

import numpy as np
import pytest
from promised.ties import (
    CELLS,
    LIMITS,
    TieCell,
    TieRow,
    drawn,
    judged,
    wrong_by_product,
    wrong_of,
)
from promised.ties_page import TIES_PAGE, tie_line

LINES = TIES_PAGE.read_text(encoding="utf-8").splitlines()


def test_nothing_in_the_committed_table_fails():
    assert [line for line in LINES if line.startswith("|") and "**" in line] == []


def test_every_cell_is_in_the_committed_table():
    starts = [f"| {' | '.join(cell.label)} |" for cell in CELLS]
    assert len({*starts}) == len(CELLS)
    assert [start for start in starts if not any(line.startswith(start) for line in LINES)] == []


@pytest.mark.slow
@pytest.mark.parametrize(
    "cell",
    [
        TieCell("touch", 5, 5e-4, 5e-4, "edge", 0.0, 0.003),
        TieCell("feelers", 3, 0.002, 0.002, "edge", 0.0, 0.003),
        TieCell("gauge block", 2, 5e-4, 5e-4, "edge", 0.0, 0.003),
    ],
    ids=lambda cell: cell.by,
)
def test_a_row_simulated_again_is_what_was_committed(cell):
    assert tie_line(judged(cell)) in LINES


def test_all_studies_come_out_as_by_what_analyse_uses():
    # many touches that are said to be surer than they are, so that statements go wrong
    cell = TieCell("touch", 10, 5e-4, 5e-4, "edge", 0.03, 0.003)
    studies = [replace(one, beyond=0.001) for one in drawn(cell, np.random.default_rng(5), 40)]
    found = [wrong_of(one) for one in studies]
    assert found == [wrong_by_product(one) for one in studies]
    for statement in ("interval", "on target", "off target"):
        assert 0 < sum(one[statement] for one in found) < len(found)


@pytest.mark.parametrize(
    ("wrong", "fails"),
    [(0.067, False), (0.0671, True)],  # 5 % and 3.5 times the root of 0.05 x 0.95 / 2,000
)
def test_what_misses_its_limit_by_more_than_chance_does_fails(wrong, fails):
    row = TieRow(("a",), {**dict.fromkeys(LIMITS, 0.0), "correction": wrong}, 2_000)
    assert row.fails == fails
    assert ("**" in tie_line(row)) == fails
