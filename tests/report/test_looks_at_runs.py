"""Looks at runs on record: what counts as one, what each may spend, what is said of it."""

import asyncio
import json
import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, redirect_stdout
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from kept_runs import KeptRun, a_run, keep
from stored_rows import reading_at

import hostctl
from hostctl.cli.main import main
from hostctl.cli.show import shown
from hostctl.report.sources.looks import look_at
from hostctl.report.sources.material import Block
from hostctl.store.looks import Seen, read_looks
from hostctl.store.reading import read_record
from hostctl.store.rows import VERDICT_GIVEN, NewMark
from hostctl.store.store import Store

FIRST_MM = [0.03, -0.02, 0.01, 0.0, -0.03, 0.02, 0.01, -0.01, 0.02, -0.02]
NOBODY = 65534
TOLERANCE = "tolerance: {within_mm: 0.06}\n"


@pytest.fixture(autouse=True)
def own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not the user's, whatever goes wrong."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """One run of ten readings, going on still."""
    path = tmp_path / "kept.sqlite"
    keep(path, going_on())
    return path


def going_on(study_text: str = TOLERANCE, kind: str = "comparison") -> KeptRun:
    return KeptRun(
        new=a_run(kind, reference="datum", study_text=study_text),
        blocks=[Block(method="paper-slip", operator="helper", point="p", values_mm=FIRST_MM)],
        with_zeros=False,
        end=None,
    )


def grow(database: Path, run: int = 1, block: int = 2, values_mm: Sequence[float] = FIRST_MM):
    """Another block read."""

    async def read() -> None:
        async with Store.opened(database) as store:
            for trial, value_mm in enumerate(values_mm, 1):
                await store.add_reading(
                    reading_at(value_mm=value_mm, run=run, block=block, round=1, trial=trial)
                )

    asyncio.run(read())


def mark_void(database: Path) -> None:
    async def mark() -> None:
        async with Store.opened(database) as store:
            first = reading_at(run=1, block=1, round=1, trial=1)
            await store.add_mark(
                NewMark(
                    run=1,
                    block=1,
                    round=1,
                    trial=1,
                    attempt=None,
                    mark="void",
                    reason="redo",
                    at=first.reading.taken_at,
                )
            )

    asyncio.run(mark())


def show(database: Path, run: int = 1) -> str:
    return " ".join(shown(database, run)[0].split())


def analysed(database: Path, *words: str) -> dict[str, Any]:
    with redirect_stdout(StringIO()) as printed:
        assert main(["analyse", *words, "--json", "--database", str(database)]) == 0
    data: dict[str, Any] = json.loads(printed.getvalue())
    return data


def looks_of(database: Path, run: int = 1) -> list[tuple[int, float]]:
    return [(look.number, look.share) for look in read_looks(database, [run])[run]]


def test_a_verdict_is_a_look_also_at_a_run_that_still_goes_on(database: Path):
    said = show(database)
    assert "This is look 1 at these readings, 1 on record, and spends half of the 5 % risk" in said
    assert looks_of(database) == [(1, 0.5)]


@pytest.mark.slow
def test_the_same_readings_looked_at_again_are_the_same_look_with_the_same_verdict(database: Path):
    said = show(database)
    data = analysed(database, "1")
    assert show(database) == said
    assert data == analysed(database, "1")
    assert hostctl.analyse(hostctl.open_database(database).run(1)).to_dict() == data
    assert looks_of(database) == [(1, 0.5)]
    assert data["results"][0]["verdict"]["half_width"]["confidence"] == pytest.approx(0.95)


@pytest.mark.slow
def test_each_look_at_more_readings_spends_less(database: Path):
    for block in (2, 3):
        show(database)
        grow(database, block=block)
    look = analysed(database, "1")["look"]
    assert [share for _, share in looks_of(database)] == pytest.approx([1 / 2, 1 / 6, 1 / 12])
    assert look == {
        "number": 3,
        "declared": None,
        "too_late": None,
        "share": pytest.approx(1 / 12),
        "left": pytest.approx(1 / 4),
        "recorded": 3,
        "unrecorded": None,
    }


def test_nothing_that_was_recorded_is_changed_by_a_look(database: Path):
    before = read_record(database, 1)
    show(database)
    after = read_record(database, 1)
    assert (after.readings, after.marks) == (before.readings, before.marks)
    assert [event.kind for event in after.events] == [VERDICT_GIVEN]


def test_a_reading_made_void_makes_another_look(database: Path):
    show(database)
    mark_void(database)
    assert "look 2 at these readings" in show(database)


def test_whatever_tolerance_is_asked_it_is_the_same_look(database: Path):
    shares = {
        analysed(database, "1", "--tolerance", within)["look"]["share"]
        for within in ("0.02", "0.05", "0.1")
    }
    assert shares == {0.5}
    assert looks_of(database) == [(1, 0.5)]


def test_where_no_tolerance_is_named_there_is_no_verdict_and_no_look(tmp_path: Path):
    database = tmp_path / "kept.sqlite"
    keep(database, going_on(study_text=""))
    assert " look " not in show(database)
    assert looks_of(database) == []


def test_a_rig_check_that_is_to_meet_a_tolerance_is_looked_at_as_any_study(tmp_path: Path):
    database = tmp_path / "kept.sqlite"
    keep(database, going_on(kind="rig-check"))
    assert "look 1 at these readings" in show(database)


def test_declared_at_the_first_look_each_spends_alike_and_after_the_last_there_is_no_verdict(
    database: Path,
):
    for block in (2, 3):
        assert analysed(database, "1", "--looks", "2")["look"]["declared"] == 2
        grow(database, block=block)
    refused = analysed(database, "1")
    assert "look 3" in refused["results"][0]["verdict"]["not_yet"]
    assert "no verdict, as this would be look 3" in refused["answer"]
    assert (refused["look"]["share"], refused["look"]["recorded"]) == (0.0, 2)
    assert looks_of(database) == [(1, 0.5), (2, 0.5)]
    assert "no verdict, as this would be look 3" in show(database)


def test_the_only_look_declared_has_the_whole_risk_and_advises_no_more_trials(tmp_path: Path):
    database = tmp_path / "kept.sqlite"
    keep(database, going_on("tolerance: {within_mm: 0.05}\n"))
    data = analysed(database, "1", "--looks", "1")
    assert data["results"][0]["verdict"]["verdict"] == "cannot tell yet"
    assert data["results"][0]["verdict"]["half_width"]["confidence"] == pytest.approx(0.90)
    assert data["results"][0]["verdict"]["further_trials"] is None
    assert "No look is left to judge more trials by." in data["answer"]


def test_declared_after_the_first_look_it_counts_for_nothing(database: Path):
    show(database)
    data = analysed(database, "1", "--looks", "1")
    assert (data["look"]["share"], data["look"]["too_late"]) == (0.5, 1)
    assert "--looks 1 comes too late" in " ".join(data["cautions"])


@pytest.mark.slow
def test_runs_taken_together_have_had_the_looks_of_each(database: Path):
    keep(database, going_on())
    show(database, 1)
    show(database, 2)
    for _ in range(2):
        assert analysed(database, "1", "2")["look"]["number"] == 3
    assert looks_of(database, 1) == looks_of(database, 2)
    assert looks_of(database, 1) == [(1, 0.5), (3, pytest.approx(1 / 12))]
    grow(database, run=2)
    assert look_at(database, [Seen(2, 20, 0)], None).looks.number == 3


@pytest.mark.slow
def test_of_no_run_do_the_looks_spend_more_than_the_whole_risk(database: Path):
    """Alone and together, over and over."""
    keep(database, going_on())
    for block in (2, 3):
        show(database, 1)
        analysed(database, "1", "2")
        show(database, 2)
        grow(database, block=block)
    spent = [sum(share for _, share in looks_of(database, run)) for run in (1, 2)]
    assert max(spent) < 1.0


@contextmanager
def locked(database: Path) -> Iterator[None]:
    """Another program writes, and does not finish."""
    with closing(sqlite3.connect(database, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


def test_while_another_program_holds_the_database_the_answer_comes_without_a_record(
    database: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("hostctl.store.looks.BUSY_S", 0.01)
    with locked(database):
        said = show(database)
    assert "0 on record" in said
    assert "This look could not be recorded, and the next won't know of it:" in said
    assert "another program is writing to it and does not finish" in said
    assert looks_of(database) == []
    assert "could not be recorded" not in show(database)


@contextmanager
def read_only(database: Path) -> Iterator[None]:
    """Somebody else's, who lets us read it; held open, as by a daemon: its log is there."""
    user = os.geteuid()
    with closing(sqlite3.connect(database)) as kept_open:
        kept_open.execute("SELECT count(*) FROM runs").fetchone()
        for file in database.parent.glob(f"{database.name}*"):
            file.chmod(0o444)
        os.seteuid(NOBODY if user == 0 else user)
        try:
            yield
        finally:
            os.seteuid(user)


def test_a_database_that_may_only_be_read_is_answered_from_all_the_same():
    with TemporaryDirectory() as folder:  # one that others may enter, as a test's own is not
        database = Path(folder) / "kept.sqlite"
        Path(folder).chmod(0o755)
        keep(database, going_on())
        with read_only(database):
            said = show(database)
        assert "This look could not be recorded" in said
        assert "it can't be opened or written" in said
        assert looks_of(database) == []


def test_of_a_file_no_look_is_recorded_and_only_what_is_declared_counts(tmp_path: Path):
    file = tmp_path / "readings.csv"
    file.write_text("reading_mm\n" + "\n".join(map(str, FIRST_MM)) + "\n", encoding="utf-8")
    words = (str(file), "--resolution", "0.01", "--tolerance", "0.06")
    database = tmp_path / "never-made.sqlite"
    first, third = analysed(database, *words), analysed(database, *words, "--looks", "3")
    assert (first["look"]["share"], first["look"]["recorded"]) == (0.5, None)
    assert third["look"]["share"] == pytest.approx(1 / 3)
    assert "Looks at a file are not recorded" in " ".join(first["cautions"])
    assert not database.exists()
