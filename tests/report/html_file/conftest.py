"""Makes the reports of these tests importable; one browser for all of this folder."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium import Chromium, chromium_or_skip

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "whole")]


@pytest.fixture(scope="session")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chromium]:
    """The real Chromium, without a window."""
    browser = Chromium(chromium_or_skip(), tmp_path_factory.mktemp("chromium"))
    yield browser
    browser.close()
