"""A run with a tie of its own, held against another gap or margin; its table, which has no gaps."""

from pathlib import Path

import pytest
from gap_runs import GapRun, Hand, keep_gap_runs

from hostctl.cli.main import main


def said(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


@pytest.fixture
def tied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A run with a tie of its own, in the database that commands take."""
    database = tmp_path / "tied.sqlite"
    keep_gap_runs(database, GapRun(hands=(Hand(method="paper-slip", mean_mm=0.13, sd_mm=0.004),)))
    monkeypatch.setenv("HOSTCTL_DATABASE", str(database))
    return tmp_path


def test_a_tied_run_exported_is_not_taken_for_gaps(
    tied: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its readings are an indicator's, about 1.1 mm, where gaps are about 0.13 mm."""
    table = str(tied / "run-1.csv")
    assert main(["export", "1", "--csv", "-o", table]) == 0
    capsys.readouterr()
    for options in (["--target", "0.1"], ["--reference", "datum"]):
        assert main(["analyse", table, *options]) != 0
        says = capsys.readouterr().err
        assert says.count("\n") == 1
        assert "rows of a tie" in says
        assert "Name the run, or its report" in says
    assert main(["analyse", table]) == 0
    says = said(capsys)
    assert "Left out: 8 readings of a tie" in says
    assert " tie " not in says.replace("of a tie", "").replace(" tie is ", "")


@pytest.mark.slow
def test_a_tied_run_and_its_report_are_held_against_another_gap_or_margin(
    tied: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = str(tied / "page.html")
    assert main(["report", "1", "-o", page]) == 0
    capsys.readouterr()
    for source in ("1", page):
        found = []
        for options in ([], ["--on-target", "0.06"], ["--target", "0.2"]):
            assert main(["analyse", source, *options]) == 0
            found.append(said(capsys).split(" In ")[0])
        own, wide, other = found
        assert "wider than the 0.10 mm wanted: off target" in own
        assert "wider than the 0.10 mm wanted: on target, shown to be within 0.06 mm" in wide
        assert "narrower than the 0.20 mm wanted: off target" in other
