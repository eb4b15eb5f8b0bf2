"""A copy of the tree, altered in place of the working tree, which goes when it is done with."""

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from types import TracebackType

from alterations import Alteration
from rooms import ROOT

COPIED = ("hostctl", "simulators", "tests", "configs", "pyproject.toml", "README.md")
COPIED_TOO = ("DEVELOPERS.md",)
LEAST_LIMIT_S = 60.0
LIMIT_TO_UNALTERED = 3.0
A_TEST_S = 40
PUT_AWAY_S = 10.0


class CopiedTree:
    """Tests run in it, each time in a fresh process with a time limit."""

    def __init__(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="alter-"))
        self._tree = self._folder / "tree"
        self._limit_s = LEAST_LIMIT_S

    def __enter__(self) -> "CopiedTree":
        self._tree.mkdir()
        for name in (*COPIED, *COPIED_TOO):
            if (ROOT / name).is_dir():
                kept_out = shutil.ignore_patterns("__pycache__", ".*")
                shutil.copytree(ROOT / name, self._tree / name, ignore=kept_out)
            else:
                shutil.copy2(ROOT / name, self._tree / name)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        shutil.rmtree(self._folder, ignore_errors=True)

    def test_unaltered(self, tests: tuple[str, ...]) -> None:
        """See that the tests pass as they are. Raises RuntimeError when they don't."""
        self._limit_s = 3600.0
        began_s = time.monotonic()
        said = self._said_by_tests(tests, may_keep_bytecode=True)
        if said is None or said[0] != 0:
            why = said[1][-2000:] if said else "they never end"
            raise RuntimeError(f"{' '.join(tests)} fail on the unaltered code:\n{why}")
        took_s = time.monotonic() - began_s
        self._limit_s = max(LEAST_LIMIT_S, LIMIT_TO_UNALTERED * took_s)

    def catches(self, one: Alteration, tests: tuple[str, ...]) -> bool:
        """Whether any test fails, or none comes to an end, with this place altered."""
        path = self._tree / "hostctl" / one.file
        text, times = path.read_text(encoding="utf-8"), path.stat()
        path.write_text(one.altered_text(), encoding="utf-8")
        try:
            said = self._said_by_tests(tests, may_keep_bytecode=False)
        finally:
            path.write_text(text, encoding="utf-8")
            os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
        return said is None or said[0] != 0

    def _said_by_tests(
        self, tests: tuple[str, ...], *, may_keep_bytecode: bool
    ) -> tuple[int, str] | None:
        """Exit code and words of pytest; None: they took too long."""
        scratch = self._folder / "t"  # short: sockets are put below it
        scratch.mkdir()
        pytest = ["pytest", "-x", "-q", "-p", "no:cacheprovider"]
        pytest += ["--hypothesis-seed=1", f"--timeout={A_TEST_S}"]
        surroundings = os.environ | {"PYTHONPATH": str(self._tree), "TMPDIR": str(scratch)}
        if not may_keep_bytecode:
            surroundings["PYTHONDONTWRITEBYTECODE"] = "1"
        process = subprocess.Popen(
            [sys.executable, "-m", *pytest, *tests],
            cwd=self._tree,
            env=surroundings,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        try:
            words, _ = process.communicate(timeout=self._limit_s)
            return process.returncode, words
        except subprocess.TimeoutExpired:
            return None
        finally:
            _end(process)
            shutil.rmtree(scratch, ignore_errors=True)


def _end(process: subprocess.Popen[str]) -> None:
    """First in a way that lets tests put away what they made (a mounted disk), then for good."""
    if process.poll() is None:
        process.send_signal(signal.SIGINT)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(PUT_AWAY_S)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()
