"""What can go wrong with a disk or a file is said in one line, and recording goes on after it."""

import os
import resource
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing, contextmanager
from itertools import count
from pathlib import Path

import pytest
from stored_rows import A_READING, A_RUN, reading_at

from hostctl.errors import StoreError
from hostctl.store.file.connection import connect_to_write
from hostctl.store.reading import list_runs, read_record
from hostctl.store.store import Store

NOBODY = 65534


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A real file system of 3 MB, where we are allowed to mount one."""
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", tmp_path],
        check=False,
        capture_output=True,
    )
    if mounted.returncode:
        pytest.skip("mounting a file system is not allowed here")
    yield tmp_path
    subprocess.run(["umount", "--lazy", tmp_path], check=True)


@contextmanager
def file_size_limit(bytes_: int) -> Iterator[None]:
    """No file may grow beyond this: writing fails, as on a disk that is out of order."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (bytes_, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@contextmanager
def as_nobody() -> Iterator[None]:
    """Without root's right to open everything, if we have it."""
    user = os.geteuid()
    os.seteuid(NOBODY if user == 0 else user)
    try:
        yield
    finally:
        os.seteuid(user)


def overwrite_all_but_the_first_page(database: Path) -> None:
    """As a dying card might."""
    content = bytearray(database.read_bytes())
    content[4096:] = b"\xff" * (len(content) - 4096)
    database.write_bytes(content)


async def record_until_it_fails(store: Store, first_trial: int) -> tuple[list[int], str]:
    """The ids acknowledged, and what the failure said."""
    acknowledged: list[int] = []
    try:
        for trial in count(first_trial):
            acknowledged.append((await store.add_reading(reading_at(trial=trial))).reading_id)
    except StoreError as error:
        return acknowledged, str(error)
    raise AssertionError("unreachable: trials are without end")


async def test_a_full_disk_refuses_the_reading_and_the_store_goes_on_once_there_is_room(
    small_disk: Path,
) -> None:
    database, ballast = small_disk / "hostctl.sqlite", small_disk / "ballast"
    async with Store.opened(database) as store:
        await store.add_run(A_RUN)
        free = os.statvfs(small_disk)
        ballast.write_bytes(bytes(free.f_bavail * free.f_bsize))
        acknowledged, said = await record_until_it_fails(store, 1)
        assert "the disk is full, so this was not recorded" in said
        assert len((await store.record(1)).readings) == len(acknowledged)
        ballast.unlink()
        stored = await store.add_reading(reading_at(trial=len(acknowledged) + 1))
        acknowledged.append(stored.reading_id)
    readings = read_record(database, 1).readings
    assert [one.reading_id for one in readings] == acknowledged


async def test_a_full_disk_leaves_room_for_the_readings_of_a_usual_run(small_disk: Path) -> None:
    database = small_disk / "hostctl.sqlite"
    async with Store.opened(database) as store:
        await store.add_run(A_RUN)
        free = os.statvfs(small_disk)
        (small_disk / "ballast").write_bytes(bytes(free.f_bavail * free.f_bsize))
        acknowledged, _ = await record_until_it_fails(store, 1)
    assert len(acknowledged) >= 60


async def test_a_disk_that_fails_refuses_the_reading_and_the_store_goes_on_after(
    store: Store,
) -> None:
    with file_size_limit(200_000):  # well within the stretched log
        acknowledged, said = await record_until_it_fails(store, 1)
    assert "the disk does not answer as it should" in said
    await store.add_reading(reading_at(trial=len(acknowledged) + 1))
    assert len((await store.record(1)).readings) == len(acknowledged) + 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"trial;reading\n1;0,02\n" * 100, "this is not a hostctl database"),
        (b"SQLite format 3\x00" + bytes(5000), "this is not a hostctl database"),
    ],
)
async def test_a_file_that_is_no_database_is_left_alone(
    tmp_path: Path, content: bytes, said: str
) -> None:
    path = tmp_path / "readings.csv"
    path.write_bytes(content)
    with pytest.raises(StoreError, match=said):
        await Store.open(path)
    with pytest.raises(StoreError, match=said):
        list_runs(path)
    assert path.read_bytes() == content


async def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE readings (value)")
    before = path.read_bytes()
    with pytest.raises(StoreError, match="this is not a hostctl database"):
        await Store.open(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("is_database", [True, False])
def test_what_could_not_be_used_is_closed_again(tmp_path: Path, is_database: bool) -> None:
    """Also while its failure is still being told."""
    path = tmp_path / "other.sqlite"
    if is_database:
        with closing(sqlite3.connect(path)) as other:
            other.execute("CREATE TABLE stock (shelf TEXT)")
    else:
        path.write_bytes(b"name,value\n" * 1000)
    with pytest.raises(StoreError) as told:
        connect_to_write(path, busy_s=0.01)
    handles = Path("/proc/self/fd")
    held = [str(each.readlink()) for each in handles.iterdir() if each.is_symlink()]
    assert str(path) not in held
    assert told.value.where == str(path)


async def test_a_damaged_database_is_said_to_be_damaged(store: Store, database: Path) -> None:
    await store.add_reading(A_READING)
    await store.close()
    overwrite_all_but_the_first_page(database)
    with pytest.raises(StoreError, match="the database is damaged"):
        read_record(database, 1)


async def test_a_folder_that_may_not_be_written_is_said_to_be_so(tmp_path: Path) -> None:
    (tmp_path / "state").mkdir(mode=0o500)
    with as_nobody(), pytest.raises(StoreError, match="can't be opened or written"):
        await Store.open(tmp_path / "state" / "hostctl.sqlite")


@pytest.mark.parametrize(
    ("place", "why"),
    [(".", "is a folder"), ("a-file/below/hostctl.sqlite", "can't be opened or written")],
)
async def test_a_path_that_can_hold_no_database_is_said_to_be_so(
    tmp_path: Path, place: str, why: str
) -> None:
    (tmp_path / "a-file").touch()
    with pytest.raises(StoreError, match=why):
        await Store.open(tmp_path / place)


def test_where_nothing_was_recorded_yet_that_is_said(database: Path) -> None:
    with pytest.raises(StoreError, match="no database here yet"):
        list_runs(database)
    assert not database.exists()


@pytest.mark.parametrize("run", [0, 99, 2**63])
async def test_a_run_that_is_not_there_is_named(store: Store, database: Path, run: int) -> None:
    with pytest.raises(StoreError, match=f"holds no run {run}"):
        read_record(database, run)


async def test_each_failure_is_one_line_with_the_file_first(store: Store, database: Path) -> None:
    with pytest.raises(StoreError) as refused:
        await store.add_reading(reading_at(run=5))
    assert str(refused.value).startswith(f"{database}: ")
    assert "\n" not in str(refused.value)
    assert refused.value.exit_code == 7


async def test_two_programs_may_record_at_once(store: Store, database: Path) -> None:
    async with Store.opened(database) as other:
        run = await other.add_run(A_RUN)
        await store.add_reading(A_READING)
        await other.add_reading(reading_at(run=run))
    assert [one.readings for one in await store.runs()] == [1, 1]
