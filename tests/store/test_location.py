"""Where the database is: named, or the service's, or the user's state (XDG Base Directory 0.8)."""

from pathlib import Path

import pytest

from hostctl.store.file.location import database_path

NAMES = ("HOSTCTL_DATABASE", "STATE_DIRECTORY", "XDG_STATE_HOME")


@pytest.mark.parametrize(
    ("named", "service", "xdg", "path"),
    [
        ("/mnt/mine.sqlite", "/var/lib/hostctl", "/home/a/state", "/mnt/mine.sqlite"),
        ("", "/var/lib/hostctl:/var/lib/more", "/home/a/state", "/var/lib/hostctl/hostctl.sqlite"),
        ("", "", "/home/a/state", "/home/a/state/hostctl/hostctl.sqlite"),
        ("", "", "", "/home/a/.local/state/hostctl/hostctl.sqlite"),
        ("", "", "not/absolute", "/home/a/.local/state/hostctl/hostctl.sqlite"),
    ],
)
def test_the_database_is_where_it_is_named_to_be(
    monkeypatch: pytest.MonkeyPatch, named: str, service: str, xdg: str, path: str
) -> None:
    monkeypatch.setenv("HOME", "/home/a")
    for name, value in zip(NAMES, (named, service, xdg), strict=True):
        monkeypatch.setenv(name, value)
    assert database_path() == Path(path)
