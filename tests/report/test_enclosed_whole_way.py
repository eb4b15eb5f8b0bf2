"""A run enclosed in a page and read again is the same run, and comes to the same."""

import asyncio
import subprocess
import sys
from array import array
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from math import isnan
from pathlib import Path
from typing import Any

import pytest
from enclosing import bare_page, enclosure_of, enclosure_of_runs, of_workshop, written
from kept_runs import ENDED
from stored_rows import A_MARK, A_RUN, AN_EVENT, NOON, reading_at

from hostctl.errors import DataError
from hostctl.records import Temperatures
from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.enclosed.enclosure import Enclosure
from hostctl.report.enclosed.reading import enclosed_of
from hostctl.report.enclosed.sourced import Rows, Sourced, sourced_run
from hostctl.report.enclosed.writing import enclosed_json, metas_of, sealed
from hostctl.report.sources.material import Material, together
from hostctl.report.sources.run_material import run_material
from hostctl.store.reading import read_record
from hostctl.store.rows import ANSWERED, NewEvent, NewMark, NewReading
from hostctl.store.store import Store

VALUES_MM = (0.02, -0.01, 0.03, 0.02, 0.0, 0.01, -0.02, 0.04)
STUDY = "study: s\noperators: [ann, bob]\ntolerance: {within_mm: 0.06}\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A run: its kind and reference, its rows, and its marks."""

    kind: str
    reference: str
    zeros: bool
    marks: tuple[NewMark, ...] = ()
    redone: bool = False


SKIPPED = replace(A_MARK, mark="skipped", trial=3, reason="said")
CASES = {
    "rig check": Case(kind="rig-check", reference="first", zeros=True),
    "first": Case(kind="comparison", reference="first", zeros=True),
    "first, one block without a zero": Case(kind="comparison", reference="first", zeros=False),
    "previous": Case(kind="comparison", reference="previous", zeros=False),
    "datum from zeros": Case(kind="comparison", reference="datum", zeros=True),
    "datum of its own": Case(kind="comparison", reference="datum", zeros=False),
    "probe": Case(kind="probe-loop", reference="datum", zeros=False),
    "void": Case(kind="comparison", reference="first", zeros=True, marks=(A_MARK, SKIPPED)),
    "void block": Case(
        kind="comparison",
        reference="first",
        zeros=True,
        marks=(replace(A_MARK, trial=None, attempt=None, reason="</script> & <b>"), A_MARK),
    ),
    "redone": Case(kind="comparison", reference="first", zeros=True, marks=(A_MARK,), redone=True),
}


def rows_of(run: int, case: Case) -> list[NewReading]:
    """Two blocks, the second begun twice: its zero is then another."""
    rows = []
    for block, round_, operator in ((1, 1, "ann"), (2, 1, "bob"), (2, 2, "bob")):
        known = {"run": run, "block": block, "round": round_}
        if case.zeros or (case.reference == "first" and block == 2):
            zero = reading_at(value_mm=0.01 * round_, is_zero=True, trial=0, attempt=1, **known)
            rows.append((operator, zero))
        for trial, value_mm in enumerate(VALUES_MM, 1):
            rows.append((operator, reading_at(value_mm=value_mm, trial=trial, attempt=1, **known)))
            if case.redone and trial == 1 and block == 1:
                again = reading_at(value_mm=0.05, trial=trial, attempt=2, **known)
                rows.append((operator, again))
    return [_of(operator, row, at) for at, (operator, row) in enumerate(rows)]


def _of(operator: str, row: NewReading, at: int) -> NewReading:
    warm = Temperatures(nozzle_c=None if at % 3 else 21.25, bed_c=20.0 + at)
    taken_at = NOON + timedelta(seconds=at, milliseconds=7 * at)
    reading = replace(row.reading, taken_at=taken_at, temperatures=warm)
    return replace(row, place=replace(row.place, operator=operator), reading=reading)


async def _keep(database: Path, cases: Sequence[Case]) -> None:
    async with Store.opened(database) as store:
        for case in cases:
            new = replace(A_RUN, kind=case.kind, reference=case.reference, study_text=STUDY)
            run = await store.add_run(new)
            for reading in rows_of(run, case):
                await store.add_reading(reading)
            for mark in case.marks:
                await store.add_mark(replace(mark, run=run))
            for kind, data in (("hold", '{"n": 1}'), (ANSWERED, "{}"), ("ended", ENDED)):
                event = NewEvent(run=run, at=NOON, kind=kind, text=kind, data=data)
                await store.add_event(event)


@pytest.fixture(params=CASES)
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A rig check as run 1, the case as run 2."""
    path = tmp_path / "kept.sqlite"
    asyncio.run(_keep(path, [CASES["rig check"], CASES[request.param]]))
    return path


def plain(material: Material) -> Material:
    """Without what only a run on record has, arrays as lists."""
    blocks = tuple(
        replace(one, values_mm=[float(value) for value in one.values_mm]) for one in material.blocks
    )
    return replace(material, blocks=blocks, seen=())


def columns(rows: Rows) -> dict[str, Any]:
    """Each column as a list, nan as None."""
    found = {}
    for name in Rows.__slots__:
        column = getattr(rows, name)
        found[name] = [None if value != value else value for value in column or ()]
    return found


def test_each_source_comes_back_as_it_was(database: Path, tmp_path: Path):
    sources = [sourced_run(database, run) for run in (1, 2)]
    for number, source in enumerate(sources, 1):
        assert source.material == run_material(database, number)
        enclosed = enclosed_of(written(tmp_path / f"{number}.html", enclosure_of([source])))
        (back,) = enclosed.sources
        assert enclosed.remarks == ()
        assert plain(back.material) == plain(source.material)
        assert columns(back.rows) == columns(source.rows)
        assert back.account == source.account


def test_its_analysis_is_that_of_the_run(database: Path, tmp_path: Path):
    made = enclosure_of_runs(database, 2)
    back = enclosed_of(written(tmp_path / "two.html", made))
    material = together([source.material for source in back.sources])
    wish = Wish(goal=back.asked.goal, margin=back.asked.margin, look=back.asked.look)
    found = analyse(material, back.rig.material if back.rig else None, wish)
    assert ANALYSIS.data(found) == made.found == back.found


def test_rows_say_what_the_store_says(database: Path):
    rows, record = sourced_run(database, 2).rows, read_record(database, 2)
    assert len(rows) == len(record.readings)
    for at, stored in enumerate(record.readings):
        place, reading, void = stored.kept.place, stored.kept.reading, rows.void[at]
        group = rows.groups[rows.group[at]]
        assert (group.block, group.round, group.operator) == (
            place.block,
            place.round,
            place.operator,
        )
        assert (rows.trial[at], rows.attempt[at]) == (place.trial, place.attempt)
        assert rows.value_mm[at] == reading.value_mm
        assert (None if isnan(rows.relative_mm[at]) else rows.relative_mm[at]) == stored.relative_mm
        assert (rows.voids[void] if void >= 0 else None) == stored.void
        assert rows.taken_at_ms is not None
        assert rows.taken_at_ms[at] == round(reading.taken_at.timestamp() * 1000)


def test_the_account_leaves_out_what_readings_and_marks_tell(database: Path):
    account = sourced_run(database, 2).account
    assert account is not None
    assert [event.kind for event in account.events] == ["hold", "ended"]
    assert (account.study_text, account.complete) == (STUDY, True)


def test_a_files_readings_come_back_as_they_stand(tmp_path: Path):
    source = of_workshop("", [0.1 + 0.2, -0.0254, 1 / 3], kind="", reference="first")
    (back,) = enclosed_of(written(tmp_path / "a.html", enclosure_of([source]))).sources
    assert plain(back.material) == plain(source.material)
    assert back.account is None
    assert (back.rows.taken_at_ms, back.rows.bed_c, back.rows.nozzle_c) == (None, None, None)


def test_the_same_enclosure_gives_the_same_bytes_and_no_sign_that_ends_a_script(tmp_path: Path):
    name = "</script><!-- & \u2028 \ud800 \u202e"
    made = enclosure_of([of_workshop(name, VALUES_MM, notes=(name,))])
    text = enclosed_json(made)
    assert text.isascii()
    assert not set("<>&") & set(text)
    path = written(tmp_path / "a.html", made)
    assert path.read_text() == bare_page(made)
    back = enclosed_of(path)
    assert back.sources[0].material.machine == name
    assert enclosed_json(back) == text


def beside(folder: Path, enclosure: Enclosure, name: str = "a.data.json") -> Path:
    """A page whose data lie in a file."""
    text = enclosed_json(enclosure)
    (folder / "a.data.json").write_bytes(text.encode())
    page = folder / "a.html"
    page.write_text(sealed(f"<!doctype html>\n<head>\n{metas_of(text, name)}\n</head>"))
    return page


def test_data_beside_the_page_are_read_by_the_name_in_it(tmp_path: Path):
    made = enclosure_of([of_workshop("m & <n>", VALUES_MM)])
    back = enclosed_of(beside(tmp_path, made))
    assert back.remarks == ()
    assert enclosed_json(back) == enclosed_json(made)


def test_more_readings_than_a_report_has_are_not_written(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("hostctl.report.enclosed.writing.MOST_READINGS", 5)
    with pytest.raises(DataError, match="8 readings are more than the 5 of a report"):
        enclosed_json(enclosure_of([of_workshop("m", VALUES_MM)]))


def test_ten_thousand_readings_take_under_0_6_mb():
    values_mm = [round(0.001 * (k % 97) - 0.05, 3) for k in range(10_000)]
    source = of_workshop("m", values_mm, resolution_mm=0.001)
    text = enclosed_json(
        replace(enclosure_of([of_workshop("m", VALUES_MM)]), sources=(timed(source),))
    )
    assert len(text) < 600_000


def timed(source: Sourced) -> Sourced:
    """With times and temperatures, as a run has them."""
    count = len(source.rows)
    rows = replace(
        source.rows,
        taken_at_ms=array("q", range(1_935_835_218_311, 1_935_835_218_311 + 9_000 * count, 9_000)),
        nozzle_c=array("d", [21.5]) * count,
        bed_c=array("d", [21.25]) * count,
    )
    return replace(source, rows=rows)


@pytest.mark.slow
def test_numpy_is_not_loaded_for_a_few_readings(tmp_path: Path):
    path = written(tmp_path / "a.html", enclosure_of([of_workshop("m", VALUES_MM)]))
    program = (
        "import sys; from pathlib import Path; from hostctl.report.enclosed.reading import "
        "enclosed_of; enclosed_of(Path(sys.argv[1])); print('numpy' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(path)], capture_output=True, text=True, check=True
    )
    assert done.stdout == "False\n"


def test_an_event_of_the_run_comes_back_with_its_data(tmp_path: Path):
    path = tmp_path / "kept.sqlite"
    asyncio.run(_keep(path, [CASES["first"]]))
    (back,) = enclosed_of(written(tmp_path / "a.html", enclosure_of_runs(path, 1))).sources
    assert back.account is not None
    assert back.account.events[0] == replace(AN_EVENT, text="hold", run=1)
