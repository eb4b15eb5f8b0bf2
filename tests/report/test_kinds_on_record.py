"""What reports know of a study's kind comes from the kind; one that is not installed is shown."""

import asyncio
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from stored_rows import A_RUN, reading_at
from stranger import kinds_installed

from hostctl.cli.main import main
from hostctl.config.load import study_from
from hostctl.config.study_kind import STUDY_KINDS, KindWords, words_of
from hostctl.config.yaml_text import Source
from hostctl.errors import PluginError
from hostctl.store.store import Store

VALUES_MM = [0.01, -0.02, 0.03, 0.0, -0.01, 0.02, 0.01, -0.03, 0.0, 0.02]

TUNED = "study: tuned\ntitle: T\nkind: tuning\npoints: [back]\ntrials: 10\n"


@pytest.fixture
def _a_broken_kind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    with kinds_installed(tmp_path, monkeypatch, {"tuning": "no_such_module:Tuning"}):
        yield


@pytest.fixture
def _a_run_of_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One run of the kind `tuning` on record, its zero and ten readings."""
    database = tmp_path / "kept.sqlite"
    monkeypatch.setenv("HOSTCTL_DATABASE", str(database))

    async def keep() -> None:
        async with Store.opened(database) as store:
            run = await store.add_run(
                replace(A_RUN, kind="tuning", study="tuned", study_text=TUNED)
            )
            rows = [0.0, *VALUES_MM]
            for trial, value_mm in enumerate(rows):
                row = reading_at(value_mm=value_mm, is_zero=trial == 0, run=run, trial=trial)
                await store.add_reading(row)

    asyncio.run(keep())


@pytest.mark.parametrize(
    ("kind", "nobody_sets", "asks_nobody", "checks_rig", "judges_zero"),
    [
        ("comparison", "", False, False, False),
        ("rig-check", "nothing adjusted", False, True, False),
        ("probe-loop", "the probe", True, False, True),
        ("", "", False, False, False),  # a file of readings
    ],
)
def test_what_is_said_of_each_kind(
    kind: str, nobody_sets: str, asks_nobody: bool, checks_rig: bool, judges_zero: bool
):
    said = replace(words_of(kind), about="", readings="")
    assert said == KindWords(
        about="",
        nobody_sets=nobody_sets,
        asks_nobody=asks_nobody,
        checks_rig=checks_rig,
        judges_zero=judges_zero,
        makes_ties=kind == "comparison",
        keeps_few=kind == "probe-loop",
    )


def test_where_nobody_sets_a_gap_there_is_a_word_for_the_readings():
    assert all(
        bool(words_of(kind).readings) == bool(words_of(kind).nobody_sets)
        for kind in STUDY_KINDS.names()
    )


@pytest.mark.usefixtures("_a_run_of_it")
def test_a_kind_that_is_not_installed_is_shown_and_judged_as_it_is(
    capsys: pytest.CaptureFixture[str],
):
    assert main(["runs"]) == 0
    assert "tuned" in capsys.readouterr().out
    assert main(["show", "1"]) == 0
    assert capsys.readouterr().out
    assert main(["analyse", "1"]) == 0
    assert "Readings of tuning (not installed)" in " ".join(capsys.readouterr().out.split())


@pytest.mark.usefixtures("_a_run_of_it", "_a_broken_kind")
def test_a_kind_that_is_broken_is_shown_all_the_same(capsys: pytest.CaptureFixture[str]):
    assert main(["analyse", "1"]) == 0
    assert "Readings of tuning (not installed)" in " ".join(capsys.readouterr().out.split())


@pytest.mark.usefixtures("_a_broken_kind")
def test_a_study_of_a_broken_kind_is_refused_in_a_line_that_names_the_package():
    with pytest.raises(PluginError, match=r"'tuning': the plug-in fails to load.*stranger"):
        study_from(Source("s.yaml", TUNED))


@pytest.mark.usefixtures("_a_run_of_it")
def test_its_run_can_not_be_gone_on_with_and_that_is_said_in_a_line(
    capsys: pytest.CaptureFixture[str],
):
    assert main(["resume", "1"]) == 3
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert 'kind: can\'t be "tuning"' in said
