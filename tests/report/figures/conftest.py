"""Makes the drawn figures and what is seen of them importable; a browser, where there is one."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "page")]

from chromium import Chromium, chromium_or_skip  # noqa: E402


@pytest.fixture(scope="session")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chromium]:
    browser = Chromium(chromium_or_skip(), tmp_path_factory.mktemp("chromium"))
    yield browser
    browser.close()
