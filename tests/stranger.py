"""A stranger's plug-in, installed for one test: found through a real entry point."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import pytest

from hostctl.plugins import installed


@contextmanager
def kinds_installed(
    where: Path, monkeypatch: pytest.MonkeyPatch, kinds: Mapping[str, str]
) -> Iterator[None]:
    """A package on the path that brings these kinds of study: `module:attribute` by name."""
    about = where / "stranger-1.0.dist-info"
    about.mkdir()
    (about / "METADATA").write_text("Metadata-Version: 2.1\nName: stranger\nVersion: 1.0\n")
    listed = "".join(f"{name} = {found_at}\n" for name, found_at in kinds.items())
    (about / "entry_points.txt").write_text(f"[hostctl.study_kinds]\n{listed}")
    monkeypatch.syspath_prepend(where)
    installed.cache_clear()
    try:
        yield
    finally:
        installed.cache_clear()
