"""A store with one run in it, and the rows to fill it."""

import sys
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from stored_rows import A_RUN, NOON

from hostctl.store.store import Store


@pytest.fixture
def database(tmp_path: Path) -> Path:
    return tmp_path / "state" / "hostctl.sqlite"


@pytest.fixture
async def store(database: Path) -> AsyncIterator[Store]:
    """A store with one run in it, number 1, with reference `first`."""
    opened = await Store.open(database, now=lambda: NOON, busy_s=0.01)
    await opened.add_run(A_RUN)
    yield opened
    await opened.close()
