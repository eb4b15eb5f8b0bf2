"""Makes the daemon's process importable, and gives one to each test that asks."""

import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from daemon_process import Daemon  # noqa: E402  # the path has to be set first


@pytest.fixture
def daemon(tmp_path: Path) -> Iterator[Daemon]:
    """With one simulated machine called bench and a small study; not started yet."""
    runtime = Path(tempfile.mkdtemp(prefix="hostctl-"))  # a socket's path must be short
    one = Daemon(tmp_path, runtime)
    one.write_machine("bench", "sim://workshop-220?seed=7")
    one.write_host("bench")
    one.write_study(3)
    yield one
    one.close()
    shutil.rmtree(runtime)
