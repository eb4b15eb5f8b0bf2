"""What is said of the true gap, from the run's own procedure to the report, the truth known.

The committed table has many studies of each kind; here are a few of each again.
"""

import csv
import io
import json
from pathlib import Path

import pytest
from tied_promises import CELLS, PAGE, judged
from tied_studies import SPOILED, TIES, TiedStudy, told

from hostctl.cli.show import shown
from hostctl.report.sources.tables.table_file import Asked, table_material
from hostctl.report.sources.tie_record import DOUBTED
from hostctl.store.export import export_csv, export_json

LINES = PAGE.read_text(encoding="utf-8").splitlines()
FEW = 8


def test_nothing_in_the_committed_table_fails():
    assert [line for line in LINES if line.startswith("|") and "**" in line] == []
    assert f"{len(CELLS)} rows; failing: 0." in LINES


@pytest.mark.slow
@pytest.mark.parametrize("cell", CELLS, ids=lambda cell: f"{cell.by} {cell.spoiled}".strip())
def test_of_a_few_studies_of_each_kind_nearly_all_are_told_rightly(cell: TiedStudy):
    """One of eight may be wrong by chance; of what is promised in 95 of 100, three are not."""
    row = judged(cell, FEW)
    assert row.wrong["interval"][0] == FEW
    assert {name: wrong for name, (_, wrong) in row.wrong.items() if wrong > 2} == {}
    if cell.spoiled:
        assert row.wrong["not noticed"][0] > 0
        assert row.wrong["not marked"] == (row.wrong["not marked"][0], 0)


def test_an_error_of_the_tie_that_nobody_states_is_found_by_what_is_counted_here():
    row = judged(TiedStudy(hidden_mm=0.08), 4)
    assert row.wrong["interval"] == row.wrong["off target"] == row.wrong["correction"] == (4, 4)
    assert row.fails


@pytest.mark.parametrize("how", SPOILED)
def test_what_was_read_on_a_spoiled_tie_is_marked_wherever_it_is_shown(how: str, tmp_path: Path):
    (study,) = told(TiedStudy(spoiled=how, spoiled_mm=0.06), 1, tmp_path)
    first = study.checked[0]
    assert first["moved"]
    assert 0.03 < abs(first["shift_mm"]) < 0.09
    doubted = study.found(0.1).doubted
    assert doubted == study.settings_at_first_check > 0
    assert not any(check["moved"] for check in study.checked[1:])

    database = tmp_path / "tied.sqlite"
    lines = shown(database, 1, readings=True)[0].splitlines()
    assert sum(line.strip() == DOUBTED for line in lines) == doubted
    assert "A check found that the tie had moved." in " ".join(lines)
    table = io.StringIO()
    export_csv(database, 1, table)
    rows = list(csv.DictReader(table.getvalue().splitlines()))
    assert sum(row["method"] == "slip" for row in rows) == 8
    (tmp_path / "run.csv").write_text(table.getvalue())
    of_table = table_material(tmp_path / "run.csv", Asked())
    assert {block.method for block in of_table.blocks} == {"slip"}
    assert f"Left out: {len(rows) - 8} readings of a tie" in " ".join(of_table.notes)
    whole = io.StringIO()
    export_json(database, 1, whole)
    assert json.dumps(first["doubted"]) in whole.getvalue().replace('\\"', '"')


@pytest.mark.parametrize("by", ["feelers", "gauge-block"])
def test_what_blades_or_block_may_be_wrong_is_in_each_observation(by: str, tmp_path: Path):
    """Both ends: the limit of error, the feel of it, and half a graduation."""
    (study,) = told(TiedStudy(by=by), 1, tmp_path)
    tied = study.material.tied
    assert tied is not None
    limits = {"feelers": 0.004 + 0.003, "gauge-block": 0.0005 + 0.008}
    assert set(limits) < set(TIES)
    between_mm = {"feelers": 0.05, "gauge-block": 0.0}[by]
    for one in tied.observed:
        wide_mm = one.high_mm - one.low_mm
        assert wide_mm == pytest.approx(between_mm + 2 * limits[by] + 0.01)
