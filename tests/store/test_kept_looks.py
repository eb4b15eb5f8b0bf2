"""Looks in the store: added to each run that was judged, once, and never changed."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from stored_rows import A_READING, A_RUN, AN_EVENT, NOON

from hostctl.errors import StoreError
from hostctl.store.looks import KeptLook, Seen, keep_look, read_looks
from hostctl.store.store import Store


def look(*seen: Seen, number: int = 1) -> KeptLook:
    return KeptLook(seen=frozenset(seen), number=number, declared=None, spent=0.0, share=0.5)


async def test_a_look_comes_back_from_each_of_its_runs(store: Store, database: Path):
    other = await store.add_run(A_RUN)
    both = look(Seen(1, 10, 0), Seen(other, 20, 1))
    keep_look(database, both, NOON)
    assert read_looks(database, [1, other]) == {1: [both], other: [both]}


async def test_the_same_readings_are_kept_once(store: Store, database: Path):
    for _ in range(2):
        keep_look(database, look(Seen(1, 10, 0)), NOON)
    keep_look(database, look(Seen(1, 10, 1), number=2), NOON)
    assert [kept.number for kept in read_looks(database, [1])[1]] == [1, 2]


async def test_a_recording_goes_on_beside_it(store: Store, database: Path):
    await store.add_reading(A_READING)
    keep_look(database, look(Seen(1, 1, 0)), NOON)
    await store.add_event(AN_EVENT)
    kinds = [event.kind for event in (await store.record(1)).events]
    assert kinds == ["verdict given", "hold"]


async def test_it_is_an_event_as_any_other_program_can_read_it(store: Store, database: Path):
    keep_look(database, look(Seen(1, 10, 2)), NOON)
    (event,) = (await store.record(1)).events
    assert (event.at, event.text) == (NOON, "look 1")
    assert json.loads(event.data) == {
        "seen": [[1, 10, 2]],
        "look": 1,
        "declared": None,
        "spent_before": 0.0,
        "share": 0.5,
    }


async def test_where_another_program_writes_and_does_not_finish_it_says_so(
    store: Store, database: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("hostctl.store.looks.BUSY_S", 0.01)
    with closing(sqlite3.connect(database, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match="another program is writing"):
            keep_look(database, look(Seen(1, 10, 0)), NOON)


def test_of_a_database_that_is_not_there_none_is_made(tmp_path: Path):
    with pytest.raises(StoreError, match="no database here"):
        keep_look(tmp_path / "none.sqlite", look(Seen(1, 10, 0)), NOON)
    assert list(tmp_path.iterdir()) == []


async def test_a_run_that_is_not_there_can_not_be_looked_at(store: Store, database: Path):
    with pytest.raises(StoreError, match="no such run"):
        keep_look(database, look(Seen(1, 10, 0), Seen(9, 1, 0)), NOON)
    assert read_looks(database, [1]) == {1: []}
