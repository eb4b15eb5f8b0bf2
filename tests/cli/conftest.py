"""The command line as a user has it, with a database of its own."""

import contextlib
import io
import os
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pytest

from hostctl.cli.main import main

Done = subprocess.CompletedProcess[str]
Hostctl = Callable[..., Done]


@pytest.fixture
def own_env(tmp_path: Path) -> dict[str, str]:
    return {
        **os.environ,
        "HOSTCTL_DATABASE": str(tmp_path / "kept.sqlite"),
        "XDG_STATE_HOME": str(tmp_path / "state"),
        "PYTHONUTF8": "1",
    }


@pytest.fixture
def hostctl(tmp_path: Path, own_env: Mapping[str, str]) -> Hostctl:
    """`hostctl("run", …)` in a process of its own; `before` goes before the interpreter's name."""

    def run(*words: str, stdin: str = "", before: Sequence[str] = ()) -> Done:
        return subprocess.run(
            [*before, sys.executable, "-m", "hostctl", *words],
            input=stdin,
            capture_output=True,
            text=True,
            cwd=tmp_path,
            env=dict(own_env),
            check=False,
        )

    return run


@pytest.fixture
def hostctl_here(
    tmp_path: Path, own_env: Mapping[str, str], monkeypatch: pytest.MonkeyPatch
) -> Hostctl:
    """The same in this process, many times as fast: for commands that only read and print."""
    monkeypatch.chdir(tmp_path)

    def run(*words: str) -> Done:
        for name, value in own_env.items():
            monkeypatch.setenv(name, value)
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(list(words))
        printed, complained = (each.detach().getvalue().decode() for each in (out, err))
        return subprocess.CompletedProcess(words, code, printed, complained)

    return run


SMALL_STUDY = """\
study: small
title: A small study
kind: comparison
methods:
  - {name: paper-slip, instruction: Turn the screw until the paper drags.}
operators: [volunteer-a]
points: [front-left]
trials: 2
cycle: {settle_s: 0, countdown_s: 0}
"""


@pytest.fixture
def small_study(tmp_path: Path) -> str:
    path = tmp_path / "small.yaml"
    path.write_text(SMALL_STUDY)
    return str(path)


@pytest.fixture
def study_for_real(tmp_path: Path) -> str:
    """The same for a port that is not simulated, where a countdown must be."""
    path = tmp_path / "small-for-real.yaml"
    path.write_text(SMALL_STUDY.replace("countdown_s: 0", "countdown_s: 1"))
    return str(path)


@pytest.fixture
def machine_at(tmp_path: Path) -> Callable[[str], str]:
    """A machine file like sim-220's with another port."""

    def write(port: str) -> str:
        from hostctl.config.find import SHIPPED

        text = (SHIPPED / "machines" / "sim-220.yaml").read_text()
        lines = [f"port: {port}" if line.startswith("port:") else line for line in text.split("\n")]
        path = tmp_path / "bench.yaml"
        path.write_text("\n".join(lines))
        return str(path)

    return write
