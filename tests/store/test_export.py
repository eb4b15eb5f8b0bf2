"""A run leaves for other programs whole, and what leaves can be read again."""

import csv
import json
from dataclasses import replace
from io import StringIO
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from stored_rows import A_MARK, A_READING, A_RUN, AN_EVENT, reading_at

from hostctl.errors import StoreError
from hostctl.store.export import HEADER, export_csv, export_json
from hostctl.store.rows import NewReading
from hostctl.store.store import Store


def table_of(database: Path, run: int = 1) -> list[dict[str, str]]:
    out = StringIO(newline="")
    export_csv(database, run, out)
    return list(csv.DictReader(StringIO(out.getvalue(), newline=""), strict=True))


def whole(database: Path, run: int = 1) -> dict[str, object]:
    out = StringIO()
    export_json(database, run, out)
    return dict(json.loads(out.getvalue()))


async def test_the_table_has_a_line_a_reading_and_units_in_its_names(
    store: Store, database: Path
) -> None:
    await store.add_reading(reading_at(trial=0, is_zero=True, value_mm=0.10))
    await store.add_reading(reading_at(trial=1, value_mm=0.12))
    zero, reading = table_of(database)
    assert (zero["is_zero"], zero["relative_mm"]) == ("1", "0.0")
    assert (reading["value_mm"], reading["relative_mm"]) == ("0.12", "0.02")
    assert (reading["nozzle_c"], reading["bed_c"]) == ("", "21.5")
    assert reading["taken_at_utc"] == "2031-05-06T12:00:00.123Z"


async def test_void_readings_stay_in_the_table_and_are_marked(store: Store, database: Path) -> None:
    await store.add_reading(A_READING)
    await store.add_reading(reading_at(attempt=2))
    await store.add_mark(A_MARK)
    assert [(row["void"], row["void_reason"]) for row in table_of(database)] == [
        ("1", "paper moved"),
        ("0", ""),
    ]


async def test_what_counts_from_a_zero_never_taken_stands_empty(
    store: Store, database: Path
) -> None:
    """Not as `nan`, which other programs read as a word."""
    await store.add_reading(A_READING)
    assert [row["relative_mm"] for row in table_of(database)] == [""]


async def test_the_whole_has_texts_seed_readings_marks_and_events(
    store: Store, database: Path
) -> None:
    await store.add_reading(A_READING)
    await store.add_mark(A_MARK)
    await store.add_event(AN_EVENT)
    exported = whole(database)
    run, readings = exported["run"], exported["readings"]
    assert isinstance(run, dict)
    assert isinstance(readings, list)
    assert (run["study_text"], run["machine_text"]) == (A_RUN.study_text, A_RUN.machine_text)
    assert (run["seed"], run["program"]) == (A_RUN.seed, A_RUN.program)
    assert list(readings[0]) == [*HEADER]
    assert readings[0]["void"] is True
    assert exported["marks"] == [
        {
            "run": 1,
            "block": 1,
            "round": 1,
            "trial": 1,
            "attempt": 1,
            "mark": "void",
            "reason": "paper moved",
            "at": "2031-05-06T12:00:00.123Z",
        }
    ]
    assert exported["events"] == [
        {
            "run": 1,
            "at": "2031-05-06T12:00:00.123Z",
            "kind": "hold",
            "text": "the probe gave no height",
            "data": {"n": 1},
        }
    ]


async def test_a_run_without_readings_leaves_whole_too(store: Store, database: Path) -> None:
    assert table_of(database) == []
    assert whole(database)["readings"] == []


async def test_only_the_run_asked_for_leaves(store: Store, database: Path) -> None:
    other = await store.add_run(A_RUN)
    await store.add_reading(A_READING)
    await store.add_reading(reading_at(run=other, trial=5))
    assert [row["trial"] for row in table_of(database, other)] == ["5"]


@pytest.mark.parametrize("run", [7, 2**63])  # SQLite's numbers end at 2**63 - 1
@pytest.mark.parametrize("export", [export_csv, export_json])
async def test_a_run_that_is_not_there_can_not_leave(
    store: Store, database: Path, export: object, run: int
) -> None:
    out = StringIO()
    with pytest.raises(StoreError, match=f"holds no run {run}"):
        export(database, run, out)  # type: ignore[operator]  # a table of functions
    assert out.getvalue() == ""


names = st.text(st.sampled_from('ab,"\r\n;=-é '), max_size=6)


def named(method: str, channel: str, trial: int, value_mm: float) -> NewReading:
    new = reading_at(trial=trial, value_mm=value_mm)
    return replace(new, place=replace(new.place, method=method), channel=channel)


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(rows=st.lists(st.tuples(names, names, st.floats(-1e6, 1e6)), min_size=1, max_size=8))
async def test_whatever_a_name_holds_the_table_can_be_read_again(
    store: Store, database: Path, rows: list[tuple[str, str, float]]
) -> None:
    run = await store.add_run(A_RUN)
    for trial, (method, channel, value_mm) in enumerate(rows):
        new = named(method, channel, trial, value_mm)
        await store.add_reading(replace(new, place=replace(new.place, run=run)))
    read = [
        (row["method"], row["channel"], float(row["value_mm"])) for row in table_of(database, run)
    ]
    assert read == [(harmless(method), harmless(channel), value) for method, channel, value in rows]


def harmless(text: str) -> str:
    """As it stands in a table, where a spreadsheet would take it for a formula."""
    return f"'{text}" if text[:1] in tuple("=+-@\t\r") else text


@pytest.mark.parametrize("reason", ["=SUM(A1)", "+1", "-1", "@name", "\tlate", "\rlate"])
async def test_no_cell_begins_a_formula_and_numbers_stay_numbers(
    store: Store, database: Path, reason: str
) -> None:
    await store.add_reading(reading_at(trial=1, value_mm=-0.02))
    await store.add_mark(replace(A_MARK, reason=reason))
    (row,) = table_of(database)
    assert row["void_reason"] == f"'{reason}"
    assert row["value_mm"] == "-0.02"
