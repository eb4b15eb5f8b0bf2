"""What in a spreadsheet export looks like a reading and is none: never taken in silence."""

from pathlib import Path

import pytest

from hostctl.errors import DataError
from hostctl.report.sources.tables.table_file import Asked, table_material


def read(tmp_path: Path, text: str, **asked):
    path = tmp_path / "export.csv"
    path.write_text(text, encoding="utf-8")
    return table_material(path, Asked(**asked))


def values(material) -> list[float]:
    return [float(value) for block in material.blocks for value in block.values_mm]


def complaint(tmp_path: Path, text: str, **asked) -> str:
    with pytest.raises(DataError) as raised:
        read(tmp_path, text, **asked)
    return str(raised.value)


@pytest.mark.parametrize(
    "text",
    [
        "sep=;\nmethod;reading\npaper;0,02\npaper;-0,01\n",
        "Gap study, 12.11.2026\n\nmethod;reading\npaper;0,02\npaper;-0,01\n",
        "Gap study;\n;\nmethod;reading\npaper;0,02\npaper;-0,01\n",
        "Gap study\nreading\n0.02\n-0.01\n",
        "#;reading\n1;0,02\n2;-0,01\n",
        "# a remark\n#\n#;reading\n1;0,02\n2;-0,01\n",
        "method;reading;remark\npaper;0,02;\npaper;-0,01;;;\n",
    ],
)
def test_what_a_spreadsheet_puts_around_the_readings_is_no_reading(tmp_path: Path, text: str):
    assert values(read(tmp_path, text)) == pytest.approx([0.02, -0.01])


def test_bad_rows_below_a_title_keep_their_line_numbers(tmp_path: Path):
    assert ":5: 'abc' is not" in complaint(tmp_path, "A title\n\nmethod;reading\np;0,1\np;abc\n")


def test_lines_above_the_heads_are_said_to_be_left_out(tmp_path: Path):
    notes = read(tmp_path, "A title\n\nmethod;reading\npaper;0,02\n").notes
    assert any("above the line 'method;reading'" in note for note in notes)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("method,reading\npaper,0,02\npaper,0,05\n", ":2: 3 cells, where the head has 2."),
        ("reading\n0.01\n#N/A\n0.02\n", ":3: '#N/A' is not a number."),
        ("reading\n0.01\n#DIV/0!\n0.02\n", ":3: '#DIV/0!' is not a number."),
        ("method;reading\np;0,01\np;0,02\nTotal;0,03\n", ":4: 'Total' stands for no reading"),
        ("trial;reading\n1;0,01\n2;0,02\nMean:;0,015\n", ":4: 'Mean:' stands for no reading"),
        ("reading;note\n0,01;\n0,02;\n0,03;SUM\n", ":4: 'SUM' stands for no reading"),
        ("void;reading\n;0,01\nslipped;0,09\n", ":3: 'slipped' under void is neither yes nor no."),
        ("zero;reading\n0,05;0,01\n0;0,09\n", ":2: '0,05' under zero is neither yes nor no."),
        ("reading (um)\n987\n1.234\n", "'1.234' beside '987': a mark may part thousands"),
        ("a;reading\np;987\np;1,234\n", "'1,234' beside '987': a mark may part thousands"),
        ("reading (um)\n1.187\n1.234\n1.321\n", "readings to 1e-06 mm: no gauge is read to that"),
        ("Method;reading\nPaper;0,1\npaper;0,2\n", "'Paper' and 'paper' may be one method"),
        ("who;reading\na  b;0,1\na b;0,2\n", "'a  b' and 'a b' may be one operator"),
    ],
)
def test_what_only_looks_like_a_reading_is_named(tmp_path: Path, text: str, said: str):
    assert said in complaint(tmp_path, text)


def test_one_number_finer_than_all_others_may_be_a_mean(tmp_path: Path):
    text = "reading_mm\n" + "0.01\n0.02\n" * 5 + "\n0.0153\n"
    assert ":13: '0.0153' has more decimals than all others" in complaint(tmp_path, text)
    assert "lies between two graduations" in complaint(tmp_path, text, resolution_mm=0.01)
    assert read(tmp_path, text, resolution_mm=0.0001).readings == 11
    assert read(tmp_path, "reading_mm\n0.01\n0.02\n0.015\n").resolution_mm == 0.001


def test_merged_cells_name_the_rows_below_them_too(tmp_path: Path):
    material = read(
        tmp_path,
        "method;operator;reading\npaper;ann;0,01\n;;0,02\n;ben;0,03\n;;0,04\nlight;ann;0,05\n",
    )
    assert [(b.method, b.operator, list(b.values_mm)) for b in material.blocks] == [
        ("paper", "ann", [0.01, 0.02]),
        ("paper", "ben", [0.03, 0.04]),
        ("light", "ann", [0.05]),
    ]
    assert any(
        "blank cells under method and operator" in note.casefold() for note in material.notes
    )


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("operator;reading\n;0,01\nann;0,02\n", 2),
        ("operator;reading\n;0,01\n;0,01\nann;0,02\n", 3),
        ("operator;reading\nann;0,01\nann;0,02\n;0,03\n", 4),  # their sum?
        ("method;operator;reading\npaper;ann;0,01\nlight;;0,02\n", 3),
    ],
)
def test_a_name_that_nothing_above_can_give_is_asked_for(tmp_path: Path, text: str, line: int):
    assert f":{line}: no operator, where other rows name theirs" in complaint(tmp_path, text)


def test_date_and_time_in_two_columns_are_one_moment(tmp_path: Path):
    text = (
        "time;date;reading\n10:00;2026-01-02;0,03\n11:00;2026-01-01;0,02\n10:00;2026-01-01;0,01\n"
    )
    assert values(read(tmp_path, text)) == [0.01, 0.02, 0.03]


def test_a_column_of_units_is_heeded(tmp_path: Path):
    text = "reading;unit\n0.01;mm\n20;um\n0,5;mil\n"
    assert "points and decimal commas are mixed" in complaint(tmp_path, text, resolution_mm=0.001)
    mixed = read(tmp_path, "reading;unit\n0.01;mm\n20;um\n", resolution_mm=0.01)
    assert values(mixed) == pytest.approx([0.01, 0.02])
    assert "unit that is not known (cm)" in complaint(tmp_path, "reading;unit\n1.2;cm\n")
    assert ":3: '20' has no unit" in complaint(tmp_path, "reading;unit\n0.01;mm\n20;\n")
    assert "column is in mm" in complaint(tmp_path, "reading_mm;unit\n20;um\n")


def test_an_operator_may_be_called_max(tmp_path: Path):
    material = read(tmp_path, "operator;reading\nMax;0,01\nMax;0,02\n")
    assert [block.operator for block in material.blocks] == ["Max"]


def test_a_column_that_is_blank_throughout_names_nobody(tmp_path: Path):
    material = read(tmp_path, "method;operator;reading\npaper;;0,01\npaper;;0,02\n")
    assert [(block.method, block.operator) for block in material.blocks] == [("paper", "")]


def test_a_table_of_one_column_a_method_is_told_what_to_do(tmp_path: Path):
    said = complaint(tmp_path, "trial;paper;light\n1;0,01;0,02\n")
    assert "where each column is a method, write one reading a row" in said


def test_the_resolution_that_a_file_names_goes_before_what_its_readings_show(tmp_path: Path):
    material = read(tmp_path, "reading_mm;resolution_mm\n0.0;0.01\n0.0;0.01\n")
    assert (material.resolution_mm, material.resolution_from) == (0.01, "named in the file")
    coarsest = read(tmp_path, "reading_um;resolution\n30;5\n20;10\n")
    assert coarsest.resolution_mm == pytest.approx(0.01)
    assert read(tmp_path, "reading_mm;resolution\n0.01;\n0.02;\n").resolution_mm == 0.01
    assert "'0' is no resolution" in complaint(tmp_path, "reading_mm;resolution\n0.01;0\n")


@pytest.mark.parametrize(
    "text",
    [
        "Gap trials at the workshop\nSpalt;Wer\n0,02;ann\n-0,01;ann\n",
        "Gap trials, shed 2\nMay 2026; by Ann\n\nSpalt;Wer;Nr\n0,02;ann;1\n-0,01;ann;2\n",
        'Gap trials\nNr,"Spalt, mm",Wer\n1,0.02,ann\n2,-0.01,ann\n',
        "reading;a note\nSpalt;Wer\n0,02;ann\n-0,01;ann\n",
    ],
)
def test_heads_that_are_asked_for_are_found_below_whatever_stands_above(tmp_path: Path, text: str):
    columns = {"reading": "Spalt", "operator": "Wer"}
    material = read(tmp_path, text, columns=columns, resolution_mm=0.01)
    assert [block.operator for block in material.blocks] == ["ann"]
    assert values(material) == pytest.approx([0.02, -0.01])


def test_below_a_title_without_separators_the_columns_are_listed(tmp_path: Path):
    said = complaint(tmp_path, "Gap trials at the workshop\nSpalt;Wer\n0,02;ann\n-0,01;ann\n")
    assert "no column is named as a reading: Spalt, Wer. Say which" in said


def test_a_head_above_decimal_commas_is_no_title(tmp_path: Path):
    assert values(read(tmp_path, "Spalt\n0,02\n-0,01\n")) == pytest.approx([0.02, -0.01])


@pytest.mark.parametrize(
    "date", ["01.10.2026", "1.10.26", "01.10.", "2026-10-01", "1/10/2026 9:05"]
)
def test_a_date_is_no_reading(tmp_path: Path, date: str):
    said = complaint(tmp_path, f"when;gap\n0,01;{date}\n0,02;0,02\n")
    assert f":2: '{date}' is a date, not a reading." in said


def test_of_two_columns_that_may_be_the_reading_one_of_dates_is_none(tmp_path: Path):
    text = "measured;gap\n01.10.2026;0,02\n02.10.2026;-0,01\n"
    assert values(read(tmp_path, text)) == pytest.approx([0.02, -0.01])


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("01.10.2026;10:00", "30.09.2026;10:00"),
        ("1.10.2026;10:00", "1.10.2026;9:05"),
        ("2026-10-01;10:00", "2026-09-30;11:00"),
    ],
)
def test_days_that_come_first_are_put_in_order(tmp_path: Path, first: str, second: str):
    text = f"date;time;reading_mm\n{first};0,02\n{second};-0,01\n"
    assert values(read(tmp_path, text)) == pytest.approx([-0.01, 0.02])


@pytest.mark.parametrize(("first", "second"), [("01.10", "30.09"), ("1/10/2026", "9/11/2026")])
def test_dates_whose_order_is_a_guess_leave_the_rows_as_they_are(tmp_path, first, second):
    material = read(tmp_path, f"date;reading_mm\n{first};0,02\n{second};-0,01\n")
    assert values(material) == pytest.approx([0.02, -0.01])
    assert any("under date is not understood" in note for note in material.notes)


@pytest.mark.parametrize(
    ("dates", "in_order"),
    [
        (("13/10/2026", "1/10/2026", "02/10/2026"), [0.02, 0.03, 0.01]),
        (("10/13/2026", "11/1/2026", "01/12/2026"), [0.03, 0.01, 0.02]),
        (("13/10/2026 9:00", "13/10/2026 8:00", "02/11/2026 7:00"), [0.02, 0.01, 0.03]),
    ],
)
def test_one_day_above_12_tells_how_dates_with_strokes_are_meant(tmp_path, dates, in_order):
    rows = zip(dates, ("0,01", "0,02", "0,03"), strict=True)
    material = read(tmp_path, "date;reading_mm\n" + "".join(f"{d};{r}\n" for d, r in rows))
    assert values(material) == pytest.approx(in_order)


@pytest.mark.parametrize(
    ("head", "first", "second", "said"),
    [
        ("date", "01/10/2026", "02/10/2026", "date is not understood ('01/10/2026': is the day"),
        ("day", "13/10/2026", "02/13/2026", "day is not understood ('13/10/2026': is the day"),
        ("time", "2026-10-01 9:00", "noon", "time is not understood ('noon'; 2026-10-01 10:30 "),
        ("date", "30.02.2026", "1.3.2026", "date is not understood ('30.02.2026'; 2026-10-01 wo"),
        ("Trial", "1", "nan", "Trial is not understood ('nan' is no number)"),
        ("time", "2026-10-01T09:00Z", "2026-10-01T08:00", "time is not understood (some times na"),
    ],
)
def test_a_time_that_is_not_understood_is_named_with_its_column(
    tmp_path: Path, head: str, first: str, second: str, said: str
):
    material = read(tmp_path, f"{head};reading_mm\n{first};0,02\n{second};-0,01\n")
    assert values(material) == pytest.approx([0.02, -0.01])
    (note,) = [note for note in material.notes if "not understood" in note]
    assert said in note


def test_no_block_is_put_in_order_where_another_can_not_be(tmp_path: Path):
    text = "method;trial;reading_mm\na;2;0,01\na;1;0,02\nb;2;0,03\nb;x;0,04\n"
    assert values(read(tmp_path, text)) == pytest.approx([0.01, 0.02, 0.03, 0.04])


@pytest.mark.parametrize(
    ("readings", "doubted"),
    [(["180", "200"], True), (["-15", "25"], True), (["1", "2"], False), (["180.5", "2"], False)],
)
def test_whole_numbers_too_large_for_mm_are_doubted(tmp_path: Path, readings, doubted: bool):
    material = read(tmp_path, "reading\n" + "\n".join(readings) + "\n")
    assert any("look like µm" in note for note in material.notes) is doubted


@pytest.mark.parametrize("unit", ["um", "[µm]", "(um)"])
def test_units_may_stand_in_a_row_of_their_own_below_the_head(tmp_path: Path, unit: str):
    material = read(tmp_path, f"operator;reading\n-;{unit}\nann;20\n;-10\n;30\n")
    assert [(b.operator, list(b.values_mm)) for b in material.blocks] == [
        ("ann", pytest.approx([0.02, -0.01, 0.03]))
    ]


def test_a_row_of_units_that_the_head_gainsays_is_named(tmp_path: Path):
    said = complaint(tmp_path, "operator;reading_mm\n-;um\nann;20\nann;30\n")
    assert ":2: this row says that readings are in um, and they were said to be in mm." in said


def test_a_few_cells_may_say_mm_among_plain_numbers(tmp_path: Path):
    material = read(tmp_path, "reading\n0,01\n0,02 mm\n0,03\n")
    assert values(material) == pytest.approx([0.01, 0.02, 0.03])
    assert any("Only some readings name their unit" in note for note in material.notes)


def test_a_few_cells_of_another_unit_among_plain_numbers_are_named(tmp_path: Path):
    said = complaint(tmp_path, "reading\n0,01\n20 um\n0,03\n")
    assert [line.split("export.csv")[1] for line in said.splitlines()] == [
        ":3: '20 um' names a unit, where most rows don't.",
        ": 1 row can't be used. Mend or remove them, and try again.",
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("reading\n0,01\n0,02\n0.03\n", ":4: decimal points and decimal commas are mixed: '0.03'"),
        ("reading\n0,01\n0.02\n0.03\n", ":2: decimal points and decimal commas are mixed: '0,01'"),
        ("T\n\nreading;who\n0,01;a\n0,02;a\n0.03;a\n", "'0.03' here, '0,01' in line 4; use one"),
        ("reading\n0,01\n0.02\n0,02\n0.03\n0,05\n", ":5: decimal points and decimal commas are"),
        ("reading\n0,01\n0.02\n0,02\nx\n0,05\n", ":5: 'x' is not a number"),
    ],
)
def test_mixed_decimal_marks_are_named_with_their_lines(tmp_path: Path, text: str, said: str):
    assert said in complaint(tmp_path, text)


def test_rows_are_counted_not_what_is_wrong_with_them(tmp_path: Path):
    said = complaint(
        tmp_path, "method;operator;reading\n;;0,01\n;;0,02\nslip;ann;0,01\nslip;ann;0,03\n"
    )
    assert said.count(": no ") == 4
    assert said.endswith("2 rows can't be used. Mend or remove them, and try again.")


def test_a_remark_below_the_readings_is_told_how_to_stand_there(tmp_path: Path):
    text = "reading;who\n0,01;a\n0,02;a\nDoor open.\n"
    assert "1 cell ('Door open.'), where the head has 2; a remark begins with #" in complaint(
        tmp_path, text
    )
    assert read(tmp_path, text.replace("Door", "# Door")).readings == 2
