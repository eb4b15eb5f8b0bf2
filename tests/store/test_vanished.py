"""The file that is written is the file at that path, or nothing is acknowledged."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from stored_rows import A_RUN, reading_at

from hostctl.errors import StoreError
from hostctl.store.reading import read_record
from hostctl.store.store import Store


def remove_folder(database: Path) -> None:
    shutil.rmtree(database.parent)


def rename_folder(database: Path) -> None:
    database.parent.rename(database.parent.with_name("moved"))


def remove_file(database: Path) -> None:
    database.unlink()


def remove_log(database: Path) -> None:
    database.with_name(database.name + "-wal").unlink()


def remove_index(database: Path) -> None:
    database.with_name(database.name + "-shm").unlink()


def replace_by_copy(database: Path) -> None:
    """As a program does that writes a new file and renames it."""
    copy = database.with_name("copy")
    shutil.copy(database, copy)
    copy.replace(database)


THERE_NO_MORE = "it was moved or removed while it was recorded to"
ANOTHER = "another file was put in its place while it was recorded to"


@pytest.fixture
def database(tmp_path: Path) -> Path:
    return tmp_path / "kept" / "hostctl.sqlite"


@pytest.mark.parametrize(
    ("act", "why"),
    [
        (remove_folder, THERE_NO_MORE),
        (rename_folder, THERE_NO_MORE),
        (remove_file, THERE_NO_MORE),
        (remove_log, THERE_NO_MORE),
        (remove_index, THERE_NO_MORE),
        (replace_by_copy, ANOTHER),
    ],
)
async def test_once_the_file_is_not_there_nothing_is_acknowledged(
    database: Path, act: Callable[[Path], None], why: str
):
    async with Store.opened(database) as store:
        await store.add_run(A_RUN)
        await store.add_reading(reading_at(trial=1))
        act(database)
        for trial in (2, 3):
            with pytest.raises(StoreError, match=why):
                await store.add_reading(reading_at(trial=trial))
        await store.answers()  # the thread comes round: a restart would help nobody


async def test_put_back_it_goes_on_and_what_was_refused_is_not_in_it(database: Path):
    async with Store.opened(database) as store:
        await store.add_run(A_RUN)
        await store.add_reading(reading_at(trial=1))
        rename_folder(database)
        with pytest.raises(StoreError, match="Put it back"):
            await store.add_reading(reading_at(trial=2))
        database.parent.with_name("moved").rename(database.parent)
        await store.add_reading(reading_at(trial=3))
    trials = [one.kept.place.trial for one in read_record(database, 1).readings]
    assert trials == [1, 3]


async def test_moved_in_the_very_commit_it_is_not_acknowledged(
    database: Path, monkeypatch: pytest.MonkeyPatch
):
    """Between the look before the commit and the disk: there is a look after it."""
    from hostctl.store import writer

    async with Store.opened(database) as store:
        await store.add_run(A_RUN)
        insert = writer.Writer._insert

        def insert_and_move(*given: object) -> object:
            rename_folder(database)
            return insert(*given)  # type: ignore[arg-type]  # what it was called with

        monkeypatch.setattr(writer.Writer, "_insert", insert_and_move)
        with pytest.raises(StoreError, match=THERE_NO_MORE):
            await store.add_reading(reading_at(trial=1))


async def test_a_database_of_other_people_is_none_of_theirs_to_read(
    database: Path, monkeypatch: pytest.MonkeyPatch
):
    """Whatever the umask of whoever starts the program."""
    import os

    before = os.umask(0o022)
    try:
        async with Store.opened(database) as store:
            await store.add_run(A_RUN)
            modes = [path.stat().st_mode & 0o777 for path in database.parent.iterdir()]
    finally:
        os.umask(before)
    assert modes == [0o640] * 3
