"""Older databases become newer ones; newer ones are left to the program that wrote them."""

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from stored_rows import A_READING, A_RUN

from hostctl.errors import StoreError
from hostctl.store.file.schema import MIGRATIONS, migrate
from hostctl.store.reading import list_runs, read_record
from hostctl.store.store import Store

ONE_MORE = (*MIGRATIONS, ("CREATE TABLE further (message TEXT) STRICT",))
BROKEN = (*MIGRATIONS, ("CREATE TABLE further (message TEXT) STRICT", "CREATE NONSENSE"))


def version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


async def test_a_migration_keeps_every_row_and_says_which_program_made_it(
    store: Store, database: Path
) -> None:
    await store.add_reading(A_READING)
    before = await store.record(1)
    await store.close()
    with closing(sqlite3.connect(database, isolation_level=None)) as connection:
        migrate(connection, database, ONE_MORE)
        assert version(connection) == len(ONE_MORE)
        history = connection.execute("SELECT version, program FROM schema_history").fetchall()
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
    assert [number for number, _ in history] == [*range(1, len(ONE_MORE) + 1)]
    assert all(program.startswith("hostctl") for _, program in history)
    assert read_record(database, 1) == before


async def test_a_migration_that_fails_leaves_the_database_as_it_was(
    store: Store, database: Path
) -> None:
    await store.close()
    with closing(sqlite3.connect(database, isolation_level=None)) as connection:
        before = list(connection.iterdump())
        with pytest.raises(sqlite3.OperationalError):
            migrate(connection, database, BROKEN)
        assert version(connection) == len(MIGRATIONS)
        assert list(connection.iterdump()) == before


async def test_a_newer_schema_is_refused_and_names_the_program_that_wrote_it(
    store: Store, database: Path
) -> None:
    await store.close()
    with closing(sqlite3.connect(database, isolation_level=None)) as connection:
        connection.execute("INSERT INTO schema_history VALUES (99, 'hostctl 9.4.0', '2040')")
        connection.execute("PRAGMA user_version = 99")
    for_users = r"written by hostctl 9\.4\.0 \(schema 99\)"
    with pytest.raises(StoreError, match=for_users):
        await Store.open(database)
    with pytest.raises(StoreError, match=for_users):
        list_runs(database)


async def test_commits_are_on_the_disk_and_the_log_is_stretched(
    store: Store, database: Path
) -> None:
    with closing(sqlite3.connect(database)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    log = database.with_name(database.name + "-wal")
    before = log.stat().st_size
    await store.add_reading(A_READING)
    assert log.stat().st_size == before


async def test_an_older_database_learns_of_the_true_gap(database: Path) -> None:
    """Its runs stay as they were, and one with the new reference is taken; no other is."""
    database.parent.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(database, isolation_level=None)) as connection:
        migrate(connection, database, MIGRATIONS[:2])
    store = await Store.open(database)
    gap = replace(A_RUN, reference="gap")
    assert await store.add_run(gap) == 1
    await store.add_reading(A_READING)
    with pytest.raises(StoreError, match="reference"):
        await store.add_run(replace(A_RUN, reference="guess"))
    await store.close()
    (kept,) = list_runs(database)
    assert kept.new.reference == "gap"
    with closing(sqlite3.connect(database)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        relative = connection.execute("SELECT relative_mm FROM judged_readings").fetchone()
    assert relative == (A_READING.reading.value_mm,)
