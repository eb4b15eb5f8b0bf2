"""A table that somebody already has: separators, decimal commas, units, columns, bad rows."""

from pathlib import Path
from typing import Any

import pytest

from hostctl.errors import DataError
from hostctl.report.sources.tables.number import Cell, head_and_unit, read_cell
from hostctl.report.sources.tables.rows import BadRows
from hostctl.report.sources.tables.table_file import Asked, table_material


def read(tmp_path: Path, text: str | bytes, **asked):
    path = tmp_path / "export.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return table_material(path, Asked(**asked))


def values(material) -> list[float]:
    return [float(value) for block in material.blocks for value in block.values_mm]


def complaint(tmp_path: Path, text: str | bytes, **asked) -> str:
    with pytest.raises(DataError) as raised:
        read(tmp_path, text, **asked)
    assert raised.value.exit_code == 8
    return str(raised.value)


@pytest.mark.parametrize(
    "text",
    [
        "reading (mm)\n0.02\n-0.01\n0.03\n",
        "Reading [mm];operator\n0,02;a\n-0,01;a\n0,03;a\n",
        "operator\treading_mm\na\t0.02\na\t\N{MINUS SIGN}0.01\na\t+0.03\n",
        'reading_mm,operator\n"0,02",a\n"-0,01",a\n"0,03",a\n',
        "reading\n0.02 mm\n-10 µm\n30um\n",
        "reading_um\n20\n-10\n30\n",
        "\n# from the workshop's sheet\nReading (mm),\n0.02,\n\n-0.01,\n,\n0.03,\n",
        "0.02\n-0.01\n0.03\n",
        b"\xef\xbb\xbfreading_mm\r\n0.02\r\n-0.01\r\n0.03\r\n",
        "reading_mm\n0.02\n-0.01\n0.03\n".encode("utf-16"),
        "reading (µm)\n20\n-10\n30\n".encode("cp1252"),
        "who;2nd try in mm;value (mm)\na;9;0,02\na;9;-0,01\na;9;0,03\n",
    ],
)
def test_the_same_readings_however_they_are_written(tmp_path: Path, text: str | bytes):
    assert values(read(tmp_path, text, resolution_mm=0.01)) == pytest.approx([0.02, -0.01, 0.03])


@pytest.mark.parametrize(
    ("unit", "in_mm"),
    [("mm", 1.0), ("um", 0.001), ("in", 25.4), ("mil", 0.0254)],  # the inch is 25.4 mm, ISO 31
)
def test_units_are_brought_to_mm(tmp_path: Path, unit: str, in_mm: float):
    named = read(tmp_path, f"reading [{unit}]\n2\n3\n")
    told = read(tmp_path, "reading\n2\n3\n", unit=unit)
    assert values(named) == values(told) == pytest.approx([2 * in_mm, 3 * in_mm])
    assert named.resolution_mm == pytest.approx(in_mm)


@pytest.mark.parametrize(
    ("head", "name", "unit"),
    [
        ("Reading (µm)", "reading", "um"),
        ("value_mm", "value", "mm"),
        ("gap, mil", "gap", "mil"),
        ("gap in mil", "gap", "mil"),
        ("checked in", "checked_in", None),
        ("Reading [in]", "reading", "in"),
        ("Operator", "operator", None),
        ("Reading [cm]", "reading", None),
        ("Gap [mm] (dial)", "gap", "mm"),
    ],
)
def test_a_head_is_a_name_and_perhaps_a_unit(head: str, name: str, unit: str | None):
    assert head_and_unit(head) == (name, unit)


@pytest.mark.parametrize(
    ("text", "value", "decimals"),
    [("0.020", 0.02, 3), ("-,5", -0.5, 1), ("2e-2", 0.02, 2), ("7.", 7.0, 0), (" 1\xa0", 1.0, 0)],
)
def test_a_cell_is_a_number_with_the_decimals_it_was_written_with(text, value, decimals):
    cell = read_cell(text)
    assert isinstance(cell, Cell)
    assert (cell.value, cell.decimals) == (pytest.approx(value), decimals)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no reading"),
        ("abc", "not a number"),
        ("nan", "not a number"),
        ("\uff10.\uff10\uff12", "not a number"),  # fullwidth digits
        ("inf", "not a number"),
        ("-", "not a number"),
        ("0,02,5", "more than one decimal mark"),
        ("1.234,5", "more than one decimal mark"),
        ("2 kg", "unit that is not known (kg)"),
        ("1e300", "too large"),
        ("0x1F", "not a number"),
    ],
)
def test_what_is_not_a_reading_says_why(text: str, why: str):
    assert why in str(read_cell(text))


def test_every_bad_row_is_named_in_one_go(tmp_path: Path):
    said = complaint(
        tmp_path, "reading_mm,operator\n0.02,a\nabc,a\n,a\n0.03\ninf,a\n0.1 mil,a\n0.01,a\n"
    )
    assert [line.split("export.csv")[1] for line in said.splitlines()] == [
        ":3: 'abc' is not a number.",
        ":4: no reading.",
        ":5: 1 cell, where the head has 2.",
        ":6: 'inf' is not a number.",
        ":7: '0.1 mil', where the column is in mm.",
        ": 5 rows can't be used. Mend or remove them, and try again.",
    ]


def test_a_row_without_a_unit_is_bad_where_others_name_theirs(tmp_path: Path):
    said = complaint(tmp_path, "reading\n0.02 mm\n0.03\n0.5 mil\n")
    assert ":3: '0.03' has no unit, where other rows name theirs." in said


def test_thousands_of_bad_rows_are_counted_and_the_first_named(tmp_path: Path):
    said = complaint(tmp_path, "reading_mm\n0.01\n" + "x\n" * 5000)
    assert "5000 rows can't be used (4800 not listed)" in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a,b\n1,2\n", "no column is named as a reading: a, b. Say which: --column reading=NAME"),
        ("value,gap\n1,2\n", "2 columns may be the reading: value, gap. Say which"),
        ("1,2\n2,3\n", "may hold decimal commas, or two columns"),
        ("0.1;2\n0.2;3\n", "no column is named as a reading: column 1, column 2"),
        ("", "is empty"),
        ("reading_mm\n", "holds no reading"),
        ("reading_mm\n5\n5\n", "all readings are alike and whole"),
        ("reading\n0.02 mm\n1 mil\n", "readings in different units have no one grid"),
        ("reading_mm;x\n0.02;1\n0,03;2\n", "decimal points and decimal commas are mixed"),
        (b"PK\x03\x04 and so on", "is a workbook (.xlsx, .ods) or another zip file, not text"),
        (b"\x00\x01\x02\x03", "is not readable text"),
    ],
)
def test_what_can_not_be_told_is_asked_for(tmp_path: Path, text: str | bytes, said: str):
    assert said in complaint(tmp_path, text)


@pytest.mark.parametrize(
    ("text", "asked", "said"),
    [
        ("reading [cm]\n1.2\n1.3\n", {}, "is in a unit that is not known (cm)"),
        ("reading [°]\n1.2\n1.3\n", {}, "is in a unit that is not known (°)"),
        ("a_cm;b\n1.2;3\n1.3;4\n", {"columns": {"reading": "a_cm"}}, "not known (cm)"),
        ("reading [um]\n1.2\n1.3\n", {"unit": "mm"}, "'reading [um]' is in um, not in mm"),
        ("reading,reading\n1,2\n", {}, "Give each column a name of its own."),
        ("paper;0.01\npaper;0.02\n", {}, "its first line holds numbers, not the names"),
        ("paper;0.01\npaper;0.02\n", {"columns": {"reading": "0.01"}}, "first line holds numbers"),
        (";".join(f"c{k}" for k in range(300)) + "\n", {}, "c11 and 288 more. Say which"),
        ("reading\n0.30000000000000004\n0.1\n", {}, "readings to 1e-17 mm: no gauge is"),
        ("reading\n1e-300\n2e-300\n", {}, "no gauge is read to that"),
        ("reading\n0.01\n0.02\n", {"resolution_mm": 1e5}, "no gauge is read to that"),
        ("reading\n0.01\n0.02\n", {"resolution_mm": 900.0}, "lies between two graduations"),
        ("reading\n0.0000002\n0.0000001\n", {"resolution_mm": 1.0}, "lies between two grad"),
        ("reading\n" + "x" * 200_000 + "\n", {}, "can't be taken apart (field larger"),
        ("reading\n" + "1" * 5000 + "\n", {}, f"'{'1' * 40}' is too large to be a reading."),
    ],
)  # fmt: skip
def test_what_would_give_a_nonsense_number_is_refused(tmp_path: Path, text, asked, said):
    assert said in complaint(tmp_path, text, **asked)


def test_a_remark_in_brackets_is_no_unit_once_the_real_one_is_said(tmp_path: Path):
    assert values(read(tmp_path, "gap (left dial)\n0.01\n0.02\n", unit="mm")) == [0.01, 0.02]


def test_names_can_not_colour_a_terminal(tmp_path: Path):
    material = read(tmp_path, "method,reading_mm\npa\x1b[31mper,0.01\npa\x1b[31mper,0.02\n")
    assert material.blocks[0].method == "pa [31mper"


def test_a_missing_file_is_named(tmp_path: Path):
    with pytest.raises(DataError, match="no such file"):
        table_material(tmp_path / "none.csv", Asked())


def test_a_column_can_be_named(tmp_path: Path):
    material = read(tmp_path, "a,b\n0.01,2\n0.02,3\n", columns={"reading": "A", "operator": "b"})
    assert [(block.operator, list(block.values_mm)) for block in material.blocks] == [
        ("2", [0.01]),
        ("3", [0.02]),
    ]
    assert "There are: a, b" in complaint(tmp_path, "a,b\n1,2\n", columns={"reading": "c"})


def test_rows_are_put_in_the_order_of_their_times(tmp_path: Path):
    text = (
        "reading_mm,time\n0.03,2026-01-01T10:02:00\n0.01,2026-01-01T10:00:00\n"
        "0.02,2026-01-01T10:01:00\n"
    )
    assert values(read(tmp_path, text)) == [0.01, 0.02, 0.03]


@pytest.mark.parametrize(
    ("column", "first", "second"),
    [
        ("time", "noon", "later"),
        ("trial", "nan", "1"),
        ("time", "2026-01-01T10:01:00Z", "2026-01-01T10:00:00"),  # which came first?
    ],
)
def test_times_that_are_not_understood_are_said_to_be(tmp_path: Path, column, first, second):
    material = read(tmp_path, f"reading_mm,{column}\n0.03,{first}\n0.01,{second}\n")
    assert values(material) == [0.03, 0.01]
    assert any("not understood" in note for note in material.notes)


@pytest.mark.parametrize(
    ("readings", "resolution_mm"),
    [
        (["0.01", "0.02", "0.04"], 0.01),
        ([f"{0.02 * k:.2f}" for k in range(9)], 0.02),  # enough of them to show the wider grid
        ([f"{0.02 * k:.2f}" for k in range(8)], 0.02),
        ([f"{0.02 * k:.2f}" for k in range(7)], 0.01),  # too few
        ([f"{0.1 * k:.2f}" for k in range(9)], 0.1),
        ([f"{0.005 * k:.3f}" for k in range(9)], 0.005),
        (["0.020", "0.030"], 0.001),
        (["0.02", "0.02"], 0.01),
        ([f"{0.03 * k + 0.01:.2f}" for k in range(9)], 0.01),
    ],
)
def test_the_resolution_is_found_from_the_readings(tmp_path: Path, readings, resolution_mm):
    material = read(tmp_path, "reading_mm\n" + "\n".join(readings) + "\n")
    assert material.resolution_mm == pytest.approx(resolution_mm)


def test_readings_off_a_resolution_that_was_given_are_named(tmp_path: Path):
    with pytest.raises(BadRows, match=r":4: 0\.025 mm lies between two graduations of 0\.01 mm"):
        read(tmp_path, "reading_mm\n0.01\n0.02\n0.025\n", resolution_mm=0.01)


def test_our_own_export_brings_its_zeros_and_leaves_out_what_is_void(tmp_path: Path):
    text = (
        "reading_id,block,round,trial,is_zero,value_mm,relative_mm,method,operator,point,void\n"
        "1,1,1,0,1,0.05,0,paper-slip,volunteer-a,front-left,0\n"
        "2,1,1,1,0,0.07,0.02,paper-slip,volunteer-a,front-left,0\n"
        "3,1,1,2,0,0.99,0.94,paper-slip,volunteer-a,front-left,1\n"
        "4,1,1,3,0,0.04,-0.01,paper-slip,volunteer-a,front-left,0\n"
    )
    material = read(tmp_path, text)
    assert (material.reference, values(material)) == ("first", pytest.approx([0.02, -0.01]))
    assert any("1 reading that the file marks void" in note for note in material.notes)


def test_without_a_method_the_file_is_the_method(tmp_path: Path):
    assert read(tmp_path, "reading_mm\n0.01\n").blocks[0].method == "export"


@pytest.mark.parametrize(
    ("head", "rows", "asked", "said"),
    [
        ("reading_mm", "0.01\n0.02\n", {}, None),
        ("reading_mm", "0.01\n0.02\n", {"reference": "datum"}, "datum"),
        ("reading_mm", "0.01\n0.02\n", {"reference": "previous"}, "previous"),
        ("reading_mm;is_zero", "0.01;1\n0.02;0\n", {}, "first"),
    ],
)
def test_what_readings_count_from_is_said_only_where_it_is_known(
    tmp_path: Path, head: str, rows: str, asked: dict[str, Any], said: str | None
):
    assert read(tmp_path, f"{head}\n{rows}", **asked).counts_from == said
