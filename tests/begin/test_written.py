"""The file that comes of it all: whole or not there, and never over another."""

import errno
import os
import stat
from pathlib import Path

import pytest
from failing_disk import at_every_doing, full_at, in_order, killed_at

from hostctl.begin.written import write_file
from hostctl.errors import HostctlError

TEXT = "machine: bench-1   # °C\n" * 20


def test_it_is_written_and_others_may_read_it_as_usual(tmp_path: Path) -> None:
    path = tmp_path / "bench-1.yaml"
    before = os.umask(0o022)
    try:
        write_file(path, TEXT)
    finally:
        os.umask(before)
    assert path.read_text() == TEXT
    assert stat.S_IMODE(path.stat().st_mode) == 0o644
    assert list(tmp_path.iterdir()) == [path]


def test_all_of_it_is_on_the_disk_before_it_has_its_name(tmp_path: Path) -> None:
    done = in_order(lambda: write_file(tmp_path / "bench-1.yaml", TEXT))
    assert done == ["open", "write", "fsync", "hardlink_to", "unlink", "open", "fsync"]


@pytest.mark.parametrize("disk", [killed_at, full_at])
def test_whenever_the_disk_fails_the_file_is_whole_or_not_there(
    tmp_path: Path, disk: object
) -> None:
    path = tmp_path / "bench-1.yaml"
    seen = set()
    for came_to_its_end in at_every_doing(lambda: write_file(path, TEXT), disk):
        there = path.exists()
        assert there or not came_to_its_end
        assert not there or path.read_text() == TEXT
        if disk is full_at:
            assert there == came_to_its_end
        seen.add(there)
        for left in tmp_path.iterdir():
            left.unlink()
    assert seen == {True, False}


def no_second_names(self: Path, target: Path) -> None:
    raise OSError(errno.EPERM, os.strerror(errno.EPERM))


@pytest.mark.parametrize("second_names", [True, False])
def test_what_is_there_stays_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, second_names: bool
) -> None:
    if not second_names:
        monkeypatch.setattr(Path, "hardlink_to", no_second_names)
    path = tmp_path / "bench-1.yaml"
    write_file(path, TEXT)
    (tmp_path / "leads-nowhere.yaml").symlink_to(tmp_path / "nothing")
    for taken in (path, tmp_path / "leads-nowhere.yaml"):
        with pytest.raises(HostctlError, match=r"is there already\. Nothing was overwritten: give"):
            write_file(taken, "other\n")
    assert path.read_text() == TEXT
    assert sorted(each.name for each in tmp_path.iterdir()) == [
        "bench-1.yaml",
        "leads-nowhere.yaml",
    ]


@pytest.mark.parametrize(
    ("where", "number", "says"),
    [
        ("no-folder/a.yaml", 0, "(no such file or directory). Make its folder first"),
        ("a-file/a.yaml", 0, "(not a directory). Give a path in a folder."),
        ("a.yaml", errno.EACCES, "(permission denied). Give a path where you may write."),
        ("a.yaml", errno.EROFS, "(read-only file system). Give a path where you may write."),
        ("a.yaml", errno.ENOSPC, "(no space left on device). Free some space, or give a path on"),
    ],
)
def test_what_can_not_be_written_is_said_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: str, number: int, says: str
) -> None:
    (tmp_path / "a-file").touch()

    def refused(*args: object) -> int:
        raise OSError(number, os.strerror(number))

    if number:
        monkeypatch.setattr(os, "open", refused)
    with pytest.raises(HostctlError) as told:
        write_file(tmp_path / where, TEXT)
    assert f"{tmp_path / where}: can't be written {says}" in str(told.value)
    assert "\n" not in str(told.value)
