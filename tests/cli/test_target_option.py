"""`--target`: a file of gaps held against the gap that was wanted."""

from pathlib import Path

import pytest

from hostctl.cli.main import main

GAPS = "method,gap mm\n" + "".join(
    f"{method},{value}\n"
    for method, values in (
        ("paper-slip", ("0.113", "0.118", "0.109", "0.115", "0.112", "0.116")),
        ("feeler-gauge", ("0.101", "0.099", "0.100", "0.102", "0.098", "0.100")),
    )
    for value in values
)


@pytest.fixture
def gaps(tmp_path: Path) -> str:
    file = tmp_path / "gaps.csv"
    file.write_text(GAPS)
    return str(file)


def said(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


def test_which_methods_are_on_target_and_which_off_it(
    gaps: str, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--column", "reading=gap mm", "--target", "0.1", "--on-target", "0.01"]
    assert main(["analyse", gaps, *options]) == 0
    says = said(capsys)
    begun = "Held against the 0.10 mm wanted — on target: feeler-gauge; off target: paper-slip"
    assert says.startswith(f"{begun} (0.01383 mm too wide).")
    assert "taken as exact" in says
    assert "paper-slip" in says


def test_what_a_doubtful_zero_leaves_open(gaps: str, capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--column", "reading=gap mm", "--target", "0.1", "--tie-doubt", "0.02"]
    assert main(["analyse", gaps, *options]) == 0
    assert said(capsys).startswith(
        "Held against the 0.10 mm wanted — cannot tell: feeler-gauge, paper-slip."
    )


@pytest.mark.parametrize(
    "options",
    [["--on-target", "0.01"], ["--tie-doubt", "0.01"], ["--target", "0.1", "--reference", "first"]],
)
def test_what_does_not_go_together(
    gaps: str, options: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["analyse", gaps, "--column", "reading=gap mm", *options]) != 0
    says = capsys.readouterr().err
    assert says.startswith(("hostctl analyse: ", "gaps.csv: "))
    assert "--target MM" in says or "Leave one of the two out" in says
