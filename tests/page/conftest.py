"""Makes the page's bench and the browser importable; one browser for all tests of this folder."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from chromium import Chromium, chromium_or_skip


@pytest.fixture(scope="session")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chromium]:
    """The real Chromium, without a window."""
    browser = Chromium(chromium_or_skip(), tmp_path_factory.mktemp("chromium"))
    yield browser
    browser.close()
